"""Make static/fonts from the unpacked packages that static/vendor/THIRD_PARTY.md names.

    python -m tests.tools.make_fonts FOLDER_OF_TTF_FILES DEJAVU_SANS_TTF OUT

Pages get WOFF2 of the whole character set. Paper gets TTF with the table digits as default,
because the PDF library applies no OpenType features; signs that the text face lacks come from
a small subset of DejaVu Sans. Needs fonttools and brotli (extra `tests`).
"""

from __future__ import annotations

import shutil
import sys
from pathlib import Path

from fontTools.subset import Options, Subsetter
from fontTools.ttLib import TTFont

TEXT_FACES = {
    "Barlow_400Regular": "Barlow-Regular",
    "Barlow_500Medium": "Barlow-Medium",
    "Barlow_600SemiBold": "Barlow-SemiBold",
    "BarlowSemiCondensed_400Regular": "BarlowSemiCondensed-Regular",
    "BarlowSemiCondensed_400Regular_Italic": "BarlowSemiCondensed-Italic",
    "BarlowSemiCondensed_500Medium": "BarlowSemiCondensed-Medium",
    "BarlowSemiCondensed_600SemiBold": "BarlowSemiCondensed-SemiBold",
}
SIGNS = (
    "\u2190\u2191\u2192\u2193\u2194\u2195\u2196\u2197\u2198\u2199\u21ba\u21bb\u21b6\u21b7"  # arrows
    "\u2300\u2220\u22a5\u2225\u2205\u2713\u2717\u2715\u26a0\u22ef"  # signs of drawings, ticks
    "\u25a0\u25a1\u25b2\u25b3\u25b6\u25b7\u25bc\u25bd\u25c0\u25c1\u25b8\u25be\u25cf\u25cb"  # shapes
    "\u2007\u2008\u2009\u200a\u202f"  # narrow spaces
    "\u03b1\u03b2\u03b3\u03b4\u03b5\u03b7\u03b8\u03bb\u03c1\u03c3\u03c4\u03c6\u03c8\u03c9\u03a6\u03a8"
)
DIGITS = "0123456789"
POSTSCRIPT = 6
FAMILY_RECORDS = {1, 3, 4, POSTSCRIPT, 16}


def with_table_digits(font: TTFont) -> None:
    """Map the ten digits to their glyphs of one width, where the font keeps such glyphs."""
    names = set(font.getGlyphOrder())
    for table in font["cmap"].tables:
        for digit in DIGITS:
            plain = table.cmap.get(ord(digit))
            if plain and f"{plain}.tf" in names:
                table.cmap[ord(digit)] = f"{plain}.tf"


def text_face(source: Path, out: Path, name: str) -> None:
    """Write one text face for pages (WOFF2) and for paper (TTF)."""
    page = TTFont(source)
    page.flavor = "woff2"
    page.save(out / f"{name}.woff2")
    paper = TTFont(source)
    with_table_digits(paper)
    for table in ("GSUB", "GPOS", "GDEF", "DSIG"):
        if table in paper:
            del paper[table]
    paper.save(out / f"{name}.ttf")


def marks(source: Path, out: Path) -> None:
    """Write the signs of DejaVu Sans as a WOFF2 of their own."""
    font = TTFont(source)
    options = Options()
    options.layout_features = []
    options.hinting = False
    options.drop_tables += ["FFTM"]
    subsetter = Subsetter(options)
    subsetter.populate(text=SIGNS)
    subsetter.subset(font)
    for record in font["name"].names:  # the licence asks a changed font for a name of its own
        if record.nameID in FAMILY_RECORDS:
            joined = record.nameID == POSTSCRIPT
            record.string = "PlatewrightMarks" if joined else "Platewright Marks"
    font.flavor = "woff2"
    font.save(out / "PlatewrightMarks.woff2")


def main(faces: Path, dejavu: Path, out: Path) -> None:
    """Make every file."""
    for stem, name in TEXT_FACES.items():
        text_face(next(faces.rglob(f"{stem}.ttf")), out, name)
    marks(dejavu, out)
    shutil.copyfile(dejavu, out / "DejaVuSans.ttf")


if __name__ == "__main__":
    main(*map(Path, sys.argv[1:4]))
