"""The server's connection to a kernel without Nagle's algorithm."""

from jupyter_server.services.kernels.connection.channels import ZMQChannelsWebsocketConnection


class PromptConnection(ZMQChannelsWebsocketConnection):
    """Sends each message at once.

    A slider's answer is a few small messages and a picture. By default the system may hold one back until the browser
    has acknowledged the one before, which browsers put off by up to 40 ms: as long as all the rest takes.
    """

    def connect(self):
        self.websocket_handler.set_nodelay(True)
        return super().connect()
