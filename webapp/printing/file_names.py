"""Names of downloaded sheets, safe in a header and on every file system."""

from __future__ import annotations

import re
import unicodedata
from urllib.parse import quote

MOST_LETTERS = 60


def attachment(job_name: str, what: str, ending: str) -> str:
    """The value of Content-Disposition for a download (RFC 6266).

    `filename` is plain ASCII for old programs; `filename*` (RFC 8187) carries the whole name.
    """
    whole = f"{_kept(job_name)} {what}.{ending}"
    plain = unicodedata.normalize("NFKD", whole).encode("ascii", "ignore").decode()
    plain = re.sub(r"[^A-Za-z0-9._-]+", "-", plain).strip("-.") or f"sheet.{ending}"
    return f"attachment; filename=\"{plain}\"; filename*=UTF-8''{quote(whole, safe='')}"


def _kept(name: str) -> str:
    """The name without what file systems refuse, and not too long."""
    text = re.sub(r'[<>:"/\\|?*\x00-\x1f\x7f]+', " ", name)
    return " ".join(text.split())[:MOST_LETTERS].strip(" .") or "job"
