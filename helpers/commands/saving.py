"""What is kept when a workbook is saved: stills instead of references to widgets that live only in a kernel."""

WIDGET_VIEW = "application/vnd.jupyter.widget-view+json"
STILLS = ("image/png", "text/html")


def keep_stills(notebook: dict) -> dict:
    """Take the widget's entry from every output that carries a still beside it, and the stored widget state.

    Without a kernel a reader of the file then sees the still; with the entry left in, "model not found". The page
    that is open keeps its live figure. Changes `notebook` (nbformat 4 as a dict) in place and returns it.
    """
    notebook.get("metadata", {}).pop("widgets", None)
    for cell in notebook.get("cells", []):
        for output in cell.get("outputs", []):
            data = output.get("data", {})
            if any(still in data for still in STILLS):
                data.pop(WIDGET_VIEW, None)
    return notebook


def pre_save_hook(model: dict, **_):
    """Called by the Jupyter server before it writes a file; see lab_config.py."""
    if model.get("type") == "notebook" and model.get("content"):
        keep_stills(model["content"])
