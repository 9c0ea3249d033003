"""The command `platewright`: starts the server, says where it is, stops when told to."""

from __future__ import annotations

import argparse
import gc
import signal
import socket
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from types import FrameType

from webapp.folder_lock import FolderLock, InUse
from webapp.settings import HOST, PORT, Settings, user_data_folder

STOPS = (signal.SIGINT, signal.SIGTERM)
LONGEST_MESSAGE = 64 * 1024  # bytes of one WebSocket message: a drag sends under 200
REFUSED = 1


def read_options(arguments: Sequence[str]) -> argparse.Namespace:
    """The command's options; a wrong one ends the program with a sentence."""
    parser = argparse.ArgumentParser(
        prog="platewright", description="Lays out the electrics of a machine on one plate."
    )
    parser.add_argument("--port", type=_port, default=PORT, metavar="N",
                        help=f"port to listen on, 0 takes any free one (default {PORT})")
    parser.add_argument("--data", type=Path, default=None, metavar="DIR",
                        help=f"folder that keeps the jobs (default {user_data_folder()})")
    parser.add_argument("--no-browser", action="store_true", help="do not open the browser")
    return parser.parse_args(arguments)


def _port(text: str) -> int:
    if not (text.isascii() and text.isdecimal() and int(text[:6]) <= 65535):
        raise argparse.ArgumentTypeError(f"{text!r} is no port: a whole number from 0 to 65535")
    return int(text)


class Refusal(Exception):
    """The server cannot start; the message says why in one sentence."""


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the server until it is stopped; 0 when it stopped cleanly, 1 when it could not start."""
    options = read_options(sys.argv[1:] if arguments is None else arguments)
    data = options.data or user_data_folder()
    settings = Settings(data=data.expanduser().resolve(), port=options.port)
    try:
        with _listening(settings) as listener:
            address = f"http://{HOST}:{listener.getsockname()[1]}/"
            with FolderLock(settings.data, address):
                _serve(settings, listener, address, opens_browser=not options.no_browser)
    except (Refusal, InUse) as error:
        print(error, file=sys.stderr, flush=True)
        return REFUSED
    return 0


@contextmanager
def _listening(settings: Settings) -> Iterator[socket.socket]:
    listener = socket.socket()
    if sys.platform != "win32":  # there it would let two programs share the port
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind((settings.host, settings.port))
        listener.listen(128)
    except OSError as error:
        listener.close()
        raise Refusal(
            f"Port {settings.port} cannot be used ({error.strerror}). "
            "Start with --port 0 to take any free one."
        ) from None
    with listener:
        yield listener


def _serve(settings: Settings, listener: socket.socket, address: str, *,
           opens_browser: bool) -> None:
    import uvicorn

    from webapp.app import create_app
    from webapp.database import Unusable

    class Server(uvicorn.Server):
        """Says when it is ready, and takes a signal as a wish to stop, not as an accident."""

        @contextmanager
        def capture_signals(self) -> Iterator[None]:
            before = {number: signal.signal(number, self._stop) for number in STOPS}
            try:
                yield
            finally:
                for number, handler in before.items():
                    signal.signal(number, handler)

        def _stop(self, _number: int, _frame: FrameType | None) -> None:
            self.force_exit = self.should_exit
            self.should_exit = True

        async def startup(self, sockets: list[socket.socket] | None = None) -> None:
            await super().startup(sockets)
            print(f"Platewright is ready at {address}", flush=True)
            if opens_browser:
                _open_browser(address)

    try:
        app = create_app(settings)
    except Unusable as error:
        raise Refusal(str(error)) from None
    gc.freeze()  # what is loaded stays: to look through it again and again halts all answers 90 ms
    config = uvicorn.Config(
        app, access_log=False, log_level="warning", server_header=False, lifespan="on",
        ws_max_size=LONGEST_MESSAGE, timeout_graceful_shutdown=1,
    )
    Server(config).run(sockets=[listener])


def _open_browser(address: str) -> None:
    import threading
    import webbrowser

    threading.Thread(target=webbrowser.open, args=(address,), daemon=True).start()


if __name__ == "__main__":
    sys.exit(main())
