"""The other browser for tests of the page: Debian's Firefox, which no driver stands before. It speaks WebDriver BiDi
(W3C) itself, over a socket on this machine. A tab has the few methods of Playwright's page that tests of both use.
"""

from __future__ import annotations

import base64
import json
import re
import subprocess
from collections import deque
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory
from threading import Thread
from typing import IO, TYPE_CHECKING, Any

import pytest
from outside import require_tool

if TYPE_CHECKING:
    from websockets.sync.client import ClientConnection

SETTINGS = {
    "layout.css.prefers-color-scheme.content-override": 0,  # dark: Chromium shows the light one
    "datareporting.policy.dataSubmissionEnabled": False,
}
REFUSALS = """() => {
  window.refusals = [];
  addEventListener("securitypolicyviolation", event => window.refusals.push(event.violatedDirective));
}"""
READY = """() => new Promise(ready => {
  const look = () => document.documentElement.hasAttribute("data-ready") ? ready() : requestAnimationFrame(look);
  look();
})"""
MIDDLE = """what => {
  const found = document.querySelector(what);
  found.scrollIntoView({block: "end", behavior: "instant"});  // above that the drawing stays in sight
  const {x, y, width, height} = found.getBoundingClientRect();
  return {x: x + width / 2, y: y + height / 2};
}"""


class Firefox:
    """One session; what the browser reports by itself is kept in ``events``."""

    def __init__(self, socket: ClientConnection) -> None:
        self._socket, self._number = socket, 0
        self.events: list[dict[str, Any]] = []

    def ask(self, method: str, **params: Any) -> dict[str, Any]:
        self._number += 1
        self._socket.send(json.dumps({"id": self._number, "method": method, "params": params}))
        while (said := json.loads(self._socket.recv())).get("id") != self._number:
            self.events.append(said)
        assert said["type"] == "success", said
        result: dict[str, Any] = said["result"]
        return result


class Tab:
    """A page in Firefox."""

    def __init__(self, firefox: Firefox, context: str) -> None:
        self._firefox, self._context = firefox, context

    def goto(self, url: str, viewport: dict[str, int]) -> None:
        self._firefox.ask("browsingContext.setViewport", context=self._context, viewport=viewport)
        self._firefox.ask("browsingContext.navigate", context=self._context, url=url, wait="complete")
        self.evaluate(READY)

    def evaluate(self, script: str, given: Any = None) -> Any:
        """What a function in JavaScript, or else an expression, gives; only what JSON has goes in and comes out."""
        function = re.match(r"\s*(async\s+)?(\([^)]*\)|\w+)\s*=>", script)
        call = f"({script})({json.dumps(given)})" if function else script
        text = f"Promise.resolve({call}).then(found => JSON.stringify(found))" if function else call
        target = {"context": self._context}
        said = self._firefox.ask("script.evaluate", expression=text, target=target, awaitPromise=True)
        assert said["type"] == "success", said["exceptionDetails"]["text"]
        value = said["result"].get("value")
        return json.loads(value) if function and value is not None else value

    def tap(self, what: str | dict[str, float]) -> None:
        """Touch the middle of what a selector finds, or a point, with a finger."""
        at = self.evaluate(MIDDLE, what) if isinstance(what, str) else what
        move = {"type": "pointerMove", "x": round(at["x"]), "y": round(at["y"])}
        touch = [move, {"type": "pointerDown", "button": 0}, {"type": "pointerUp", "button": 0}]
        self._act({"type": "pointer", "id": "finger", "parameters": {"pointerType": "touch"}, "actions": touch})

    def press(self, key: str) -> None:
        self._act({"type": "key", "id": "keys", "actions": [{"type": t, "value": key} for t in ("keyDown", "keyUp")]})

    def _act(self, source: dict[str, Any]) -> None:
        self._firefox.ask("input.performActions", context=self._context, actions=[source])

    def screenshot(self, path: Path, *, full_page: bool = False) -> None:
        origin = "document" if full_page else "viewport"
        given = self._firefox.ask("browsingContext.captureScreenshot", context=self._context, origin=origin)
        path.write_bytes(base64.b64decode(given["data"]))


@contextmanager
def firefox() -> Iterator[Firefox]:
    """Without Firefox the test is skipped, or fails in CI."""
    program = require_tool("firefox-esr")
    client = pytest.importorskip("websockets.sync.client")
    with TemporaryDirectory(ignore_cleanup_errors=True) as profile:
        lines = (f"user_pref({json.dumps(name)}, {json.dumps(value)});\n" for name, value in SETTINGS.items())
        (Path(profile) / "user.js").write_text("".join(lines), "utf-8")
        command = [program, "--headless", "--no-remote", "--profile", profile, "--remote-debugging-port", "0"]
        with subprocess.Popen(command, stderr=subprocess.PIPE, text=True) as process:
            assert process.stderr is not None
            address = _address(process.stderr)
            Thread(target=deque, args=(process.stderr, 0), daemon=True).start()  # else its words fill the pipe
            try:
                with client.connect(f"{address}/session", max_size=None, ping_interval=None, proxy=None) as socket:
                    running = Firefox(socket)
                    running.ask("session.new", capabilities={})
                    running.ask("session.subscribe", events=["log.entryAdded", "network.beforeRequestSent"])
                    running.ask("script.addPreloadScript", functionDeclaration=REFUSALS)
                    yield running
                    running.ask("browser.close")
            except BaseException:
                process.kill()
                raise


def _address(said: IO[str]) -> str:
    before = []
    for line in said:
        if found := re.search(r"BiDi listening on (ws://\S+)", line):
            return found[1]
        before.append(line)
    raise AssertionError(f"Firefox did not start: {''.join(before)}")


@contextmanager
def opened_in_firefox(running: Firefox, file: Path, viewport: dict[str, int]) -> Iterator[Tab]:
    """The page, which may ask for nothing but itself and must not say anything to the console."""
    context = running.ask("browsingContext.create", type="tab")["context"]
    tab = Tab(running, context)
    running.events.clear()
    tab.goto(file.as_uri(), viewport)
    yield tab
    assert tab.evaluate("() => window.refusals") == []
    logs = [e["params"]["text"] for e in running.events if e["method"] == "log.entryAdded"]
    asked = [e["params"] for e in running.events if e["method"] == "network.beforeRequestSent"]
    urls = [each["request"]["url"] for each in asked if each["context"] == context]
    assert logs == []
    assert [url[:200] for url in urls if not url.startswith(("data:", "blob:", file.as_uri()))] == []
    running.ask("browsingContext.close", context=context)
