"""A headless Chromium, driven over its DevTools protocol, for pages that tests serve themselves."""

import base64
import json
import shutil
import subprocess
import tempfile
import time
import urllib.request
from pathlib import Path

import websocket

PROGRAM = next(
    filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), None
)
# seconds for whatever a page has to do
LONGEST = 60.0


class Browser:
    """One page of a browser of its own."""

    def __init__(self, width: int = 1200, height: int = 1000) -> None:
        self._folder = tempfile.TemporaryDirectory(ignore_cleanup_errors=True)
        self._process = subprocess.Popen(
            [
                PROGRAM,
                "--headless=new",
                "--no-sandbox",
                "--disable-gpu",
                "--disable-dev-shm-usage",
                "--disable-background-networking",
                "--no-first-run",
                "--remote-debugging-port=0",
                "--remote-allow-origins=*",
                f"--user-data-dir={self._folder.name}",
                "about:blank",
            ],
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        told = Path(self._folder.name) / "DevToolsActivePort"
        self._waited(lambda: told.is_file() and told.read_text().count("\n") > 0)
        port = told.read_text().splitlines()[0]
        with urllib.request.urlopen(f"http://127.0.0.1:{port}/json", timeout=LONGEST) as answer:
            (page,) = [own for own in json.load(answer) if own["type"] == "page"]
        self._socket = websocket.create_connection(page["webSocketDebuggerUrl"], timeout=LONGEST)
        self._number = 0
        self._call("Emulation.setScrollbarsHidden", hidden=True)
        self.resize(width, height)

    def __enter__(self) -> "Browser":
        return self

    def __exit__(self, *_: object) -> None:
        self._socket.close()
        self._process.terminate()
        self._process.wait(timeout=LONGEST)
        self._folder.cleanup()

    def _waited(self, holds) -> None:
        end = time.monotonic() + LONGEST
        while not holds():
            if time.monotonic() > end:
                raise TimeoutError("the browser did not answer")
            time.sleep(0.02)

    def _call(self, method: str, **parameters):
        self._number += 1
        message = {"id": self._number, "method": method, "params": parameters}
        self._socket.send(json.dumps(message))
        while True:
            answer = json.loads(self._socket.recv())
            if answer.get("id") == self._number:
                if "error" in answer:
                    raise RuntimeError(f"{method}: {answer['error']}")
                return answer["result"]

    def resize(self, width: int, height: int) -> None:
        """Make the window that large, in pixels."""
        self._call(
            "Emulation.setDeviceMetricsOverride",
            width=width,
            height=height,
            deviceScaleFactor=1,
            mobile=False,
        )

    def open(self, address: str, ready: str) -> None:
        """Open a page, and wait until an expression is true."""
        self._call("Page.navigate", url=address)
        self.wait_for(ready)

    def run(self, expression: str):
        """Evaluate an expression, and return its value."""
        found = self._call(
            "Runtime.evaluate", expression=expression, returnByValue=True, awaitPromise=True
        )
        if "exceptionDetails" in found:
            raise RuntimeError(f"{expression}: {found['exceptionDetails']}")
        return found["result"].get("value")

    def wait_for(self, expression: str) -> None:
        """Wait until an expression is true."""
        self._waited(lambda: self.run(expression) is True)

    def type(self, text: str) -> None:
        """Type a text into what has the focus, and leave it by the key that enters it."""
        self._call("Input.insertText", text=text)
        self.press("Enter", 13, "\r")

    def press(self, key: str, code: int, text: str = "") -> None:
        """Press a key."""
        for kind in ("keyDown", "keyUp"):
            self._call(
                "Input.dispatchKeyEvent",
                type=kind,
                key=key,
                code=key,
                windowsVirtualKeyCode=code,
                **({"text": text} if text and kind == "keyDown" else {}),
            )

    def picture(self, path: Path) -> None:
        """Save the whole page as a picture."""
        found = self._call("Page.captureScreenshot", format="png", captureBeyondViewport=True)
        path.write_bytes(base64.b64decode(found["data"]))
