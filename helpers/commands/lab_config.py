"""How `python3 -m helpers start` sets up JupyterLab."""

from helpers.commands.saving import pre_save_hook

c = get_config()  # noqa: F821 (Jupyter gives it to a configuration file)
c.ContentsManager.pre_save_hook = pre_save_hook
c.ServerApp.answer_yes = True  # Ctrl-C ends the server without a question
c.ServerApp.kernel_websocket_connection_class = "helpers.commands.prompt_connection.PromptConnection"
c.LabApp.news_url = None  # nothing is fetched; nobody is asked either, see settings/labconfig
c.LabApp.check_for_updates_class = "jupyterlab.handlers.announcements.NeverCheckForUpdate"
