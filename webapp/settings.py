"""How one run of the application is set up: read once, at the start."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

from webapp.resources import folder

HOST = "127.0.0.1"
PORT = 8460
MIB = 1024 * 1024


def user_data_folder() -> Path:
    """The user's data folder of this system, where jobs are kept unless told otherwise."""
    from platformdirs import user_data_dir

    return Path(user_data_dir("platewright", appauthor=False))


@dataclass(frozen=True, slots=True)
class Settings:
    """The settings of one run.

    Attributes:
        data: the folder that holds the jobs; made when it is missing.
        host, port: where the server listens; port 0 takes any free one.
        max_body, max_import: greatest size of a request's body, bytes; of an import's.
        arrange_queue: arrange jobs that may wait before more are refused.
        seed: the folder of the shelf and the demo jobs.
    """

    data: Path = field(default_factory=user_data_folder)
    host: str = HOST
    port: int = PORT
    max_body: int = 2 * MIB
    max_import: int = 10 * MIB
    arrange_queue: int = 10
    seed: Path = field(default_factory=lambda: folder("seed_data"))

    @property
    def database(self) -> Path:
        """The file that holds every job."""
        return self.data / "platewright.db"
