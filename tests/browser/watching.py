"""Listens to pages and keeps what a clean page never says."""

from __future__ import annotations

from dataclasses import dataclass, field

from playwright.sync_api import ConsoleMessage, Page, Request, Response

# Chromium tells of a broken policy in the console too; the event names the place exactly.
_TELL_OF_POLICY = """
document.addEventListener("securitypolicyviolation", (event) => console.error(
  `policy ${event.effectiveDirective} broken by ${event.blockedURI} at ` +
  `${event.sourceFile}:${event.lineNumber} ${event.sample}`));
"""
# A page that is left, or a download, ends requests on purpose.
_LEFT = "net::ERR_ABORTED"


@dataclass
class Watch:
    """Complaints of all watched pages of one test."""

    complaints: list[str] = field(default_factory=list)
    allowed: list[str] = field(default_factory=list)

    def allow(self, words: str) -> None:
        """Complaints that hold these words are meant by the test."""
        self.allowed.append(words)

    def follow(self, page: Page) -> None:
        """Listen to a page from now on."""
        page.add_init_script(_TELL_OF_POLICY)
        page.on("console", self._console)
        page.on("pageerror", lambda error: self.complaints.append(f"script: {error}"))
        page.on("requestfailed", self._failed)
        page.on("response", self._response)

    def settle(self) -> None:
        """Fail on every complaint that was not allowed.

        Raises:
            AssertionError: there is one.
        """
        left = [c for c in self.complaints if not any(words in c for words in self.allowed)]
        assert not left, "The browser complained:\n" + "\n".join(left)

    def _console(self, message: ConsoleMessage) -> None:
        if message.type == "error":
            self.complaints.append(f"console: {message.text} ({message.location.get('url', '')})")

    def _failed(self, request: Request) -> None:
        if request.failure != _LEFT:
            self.complaints.append(f"request: {request.method} {request.url} {request.failure}")

    def _response(self, response: Response) -> None:
        if response.status >= 500:
            self.complaints.append(
                f"answer {response.status}: {response.request.method} {response.url}"
            )
