"""Where the folders of files that are not code stand: static, templates, seed_data.

In the source tree they stand beside the package; an installed wheel carries them inside it.
"""

from __future__ import annotations

from pathlib import Path
from typing import Literal

_PACKAGE = Path(__file__).resolve().parent


def folder(name: Literal["static", "templates", "seed_data"]) -> Path:
    """The folder of that name.

    Raises:
        FileNotFoundError: it is in neither place, so the installation is incomplete.
    """
    places = (_PACKAGE / name, _PACKAGE.parent / name)
    for place in places:
        if place.is_dir():
            return place
    raise FileNotFoundError(
        f"The folder {name!r} of Platewright is missing: looked at {places[0]} and {places[1]}."
    )
