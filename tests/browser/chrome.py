"""A browser without a window, driven through its own debugging pipe: no driver, no port, no network."""

from __future__ import annotations

import base64
import json
import os
import select
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from tests.support.needs import CHROME
from tests.support.patience import LONGEST, until

_FLAGS = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--disable-dev-shm-usage",
    "--no-first-run",
    "--hide-scrollbars",
)


SETTLED = (
    "new Promise(done => { let still = 0; const ask = () => { still = b.work && b.ready && !b.frame && !b.moving ? "
    "still + 1 : 0; still > 2 ? done() : setTimeout(ask, 20); }; setTimeout(ask, 20); })"
)
"""Kept when the preview page, its bench called `b`, has drawn all that was asked of it, however long that takes."""


class Browser:
    """One page in a browser. `errors`: what the page complained of; `asked`: everything that it requested."""

    def __init__(self, writer: int, reader: int) -> None:
        self._writer, self._reader, self._buffer, self._count = writer, reader, b"", 0
        self._session = ""
        self.errors: list[str] = []
        self.asked: list[str] = []
        target = self.call("Target.createTarget", url="about:blank")["targetId"]
        self._session = self.call("Target.attachToTarget", targetId=target, flatten=True)["sessionId"]
        for domain in ("Page", "Runtime", "Network", "Log"):
            self.call(f"{domain}.enable")

    def call(self, method: str, **params: Any) -> dict[str, Any]:
        """One command of the protocol and its answer. Raises RuntimeError where the browser refuses."""
        self._count += 1
        message: dict[str, Any] = {"id": self._count, "method": method, "params": params}
        if self._session:
            message["sessionId"] = self._session
        os.write(self._writer, json.dumps(message).encode() + b"\0")
        while True:
            said = self._next(LONGEST)
            if said.get("id") == message["id"]:
                if "error" in said:
                    raise RuntimeError(f"{method}: {said['error']}")
                return dict(said["result"])

    def size(self, width: int, height: int, *, phone: bool = False, dark: bool = False, ratio: float = 1) -> None:
        """The window's size in CSS pixels; a phone has touch."""
        self.call(
            "Emulation.setDeviceMetricsOverride", width=width, height=height, deviceScaleFactor=ratio, mobile=phone
        )
        self.call("Emulation.setTouchEmulationEnabled", enabled=phone)
        scheme = {"name": "prefers-color-scheme", "value": "dark" if dark else "light"}
        self.call("Emulation.setEmulatedMedia", features=[scheme])

    def open(self, file: Path, ready: str = "document.documentElement.dataset.ready === 'yes'") -> None:
        """Opens a file and waits for an expression to hold."""
        self.errors.clear()
        self.asked.clear()
        self.call("Page.navigate", url=file.as_uri())
        loaded = f"document.readyState === 'complete' && ({ready})"
        until(lambda: self.run(loaded), lambda: f"the page is not ready: {self.errors}", pause=0.005)

    def run(self, expression: str) -> Any:
        """The value of an expression in the page, a promise's once it is kept. Raises RuntimeError for its errors."""
        said = self.call("Runtime.evaluate", expression=expression, returnByValue=True, awaitPromise=True)
        if "exceptionDetails" in said:
            raise RuntimeError(json.dumps(said["exceptionDetails"])[:2000])
        return said["result"].get("value")

    def picture(self, file: Path, *, whole: bool = False) -> None:
        """A screenshot; `whole`: of the page to its end."""
        shot = self.call("Page.captureScreenshot", format="png", captureBeyondViewport=whole)
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_bytes(base64.b64decode(shot["data"]))

    def pdf(self, **options: Any) -> bytes:
        """The page as it prints."""
        return base64.b64decode(self.call("Page.printToPDF", **options)["data"])

    def mouse(self, kind: str, x: float, y: float, *, down: bool = False) -> None:
        """`mouseMoved`, `mousePressed` or `mouseReleased` at a place of the window."""
        button = "left" if down or kind != "mouseMoved" else "none"
        self.call("Input.dispatchMouseEvent", type=kind, x=x, y=y, button=button, buttons=int(down), clickCount=1)

    def key(self, name: str, text: str = "") -> None:
        """A key pressed and let go."""
        for kind in ("keyDown", "keyUp"):
            self.call("Input.dispatchKeyEvent", type=kind, key=name, **({"text": text} if text else {}))

    def touch(self, kind: str, points: list[tuple[float, float]]) -> None:
        """`touchStart`, `touchMove` or `touchEnd` of fingers."""
        self.call(
            "Input.dispatchTouchEvent",
            type=kind,
            touchPoints=[{"x": x, "y": y, "id": i} for i, (x, y) in enumerate(points)],
        )

    def _next(self, seconds: float) -> dict[str, Any]:
        while b"\0" not in self._buffer:
            if not select.select([self._reader], [], [], seconds)[0]:
                raise TimeoutError("the browser does not answer")
            got = os.read(self._reader, 1 << 20)
            if not got:
                raise RuntimeError("the browser has gone")
            self._buffer += got
        raw, _, self._buffer = self._buffer.partition(b"\0")
        said: dict[str, Any] = json.loads(raw)
        method, params = said.get("method"), said.get("params", {})
        if method == "Runtime.exceptionThrown":
            self.errors.append(str(params["exceptionDetails"].get("exception", params["exceptionDetails"])))
        elif method == "Log.entryAdded" and params["entry"]["level"] in ("error", "warning"):
            self.errors.append(params["entry"]["text"])
        elif method == "Runtime.consoleAPICalled" and params["type"] in ("error", "warning"):
            self.errors.append(str(params["args"]))
        elif method == "Network.requestWillBeSent":
            self.asked.append(params["request"]["url"])
        return said


@contextmanager
def browser() -> Iterator[Browser]:
    """A browser that ends with the block, and whose folder goes with it."""
    to_read, to_write = os.pipe()
    from_read, from_write = os.pipe()
    with tempfile.TemporaryDirectory() as folder:
        flags = " ".join(f"'{flag}'" for flag in (*_FLAGS, f"--user-data-dir={folder}"))
        # The browser reads commands from file 3 and answers on file 4.
        command = f"exec '{CHROME}' --remote-debugging-pipe {flags} about:blank 3<&{to_read} 4>&{from_write}"
        process = subprocess.Popen(
            ["bash", "-c", command],
            pass_fds=(to_read, from_write),
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        os.close(to_read)
        os.close(from_write)
        try:
            yield Browser(to_write, from_read)
        finally:
            process.terminate()
            try:
                process.wait(60)
            except subprocess.TimeoutExpired:
                process.kill()
                process.wait()
            os.close(to_write)
            os.close(from_read)
            shutil.rmtree(folder, ignore_errors=True)
            Path(folder).mkdir(exist_ok=True)
