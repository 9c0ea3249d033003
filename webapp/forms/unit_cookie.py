"""Which fields a person has in inches, kept in a cookie of the browser."""

from __future__ import annotations

from fastapi import Request
from fastapi.responses import Response

from webapp.forms.lengths import COOKIE, Inches, cookie_of_inches, inches_of_cookie

KEPT_S = 365 * 24 * 3600


def inches_of(request: Request) -> Inches:
    """The fields that this person has in inches."""
    return inches_of_cookie(request.cookies.get(COOKIE, ""))


def remember_inches(response: Response, inches: Inches) -> Response:
    """Keep in a cookie which fields are in inches."""
    response.set_cookie(COOKIE, cookie_of_inches(inches), max_age=KEPT_S, httponly=True,
                        samesite="strict")
    return response
