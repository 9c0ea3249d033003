"""Fill the hash table of static/vendor/THIRD_PARTY.md anew: python -m tests.tools.hash_vendored"""

from __future__ import annotations

import base64
import hashlib
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
TABLE = ROOT / "static" / "vendor" / "THIRD_PARTY.md"
HTMX = "npm htmx.org 4.0.1, `dist/htmx.min.js`", "0BSD, `htmx-LICENSE.txt`"
BARLOW = "npm @expo-google-fonts/barlow 0.4.1", "SIL OFL 1.1, `Barlow-OFL.txt`"
CONDENSED = "npm @expo-google-fonts/barlow-semi-condensed 0.4.1", "SIL OFL 1.1, `Barlow-OFL.txt`"
DEJAVU = (
    "Debian fonts-dejavu-core 2.37-6",
    "Bitstream Vera licence, changes in the public domain, `DejaVu-LICENSE.txt`",
)


def sha384(path: Path) -> str:
    """The hash as `integrity=` attributes write it, without its prefix."""
    return base64.b64encode(hashlib.sha384(path.read_bytes()).digest()).decode()


def origin(path: Path) -> tuple[str, str]:
    """Where a file is from, and its licence."""
    if path.name.startswith("htmx"):
        return HTMX
    if path.name.startswith("BarlowSemiCondensed"):
        return CONDENSED
    return BARLOW if path.name.startswith("Barlow") else DEJAVU


def vendored_files() -> list[Path]:
    """Every file of others, licences left out."""
    static = ROOT / "static"
    return [
        *sorted((static / "vendor").glob("*.js")),
        *sorted((static / "fonts").glob("*.woff2")),
        *sorted((static / "fonts").glob("*.ttf")),
    ]


def rows() -> list[str]:
    """The rows of the table."""
    return [
        f"| `{path.relative_to(ROOT).as_posix()}` | {origin(path)[0]} | {origin(path)[1]} "
        f"| {sha384(path)} |"
        for path in vendored_files()
    ]


def main() -> None:
    """Write the table."""
    text = TABLE.read_text(encoding="utf-8")
    head, _, rest = text.partition("| --- | --- | --- | --- |\n")
    tail = rest[rest.index("\n## ") :]
    table = "\n".join(rows()) + "\n"
    TABLE.write_text(f"{head}| --- | --- | --- | --- |\n{table}{tail}", encoding="utf-8")


if __name__ == "__main__":
    main()
