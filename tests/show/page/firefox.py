"""Firefox, driven by WebDriver BiDi (W3C), which it speaks by itself."""

import asyncio
import base64
import contextlib
import itertools
import json
import re
import threading

from tornado.websocket import websocket_connect

PATIENCE = 60  # seconds


class Firefox:
    """One headless Firefox with one tab."""

    def __init__(self, path, profile):
        self._loop = asyncio.new_event_loop()  # on a thread: another may run on this one
        threading.Thread(target=self._loop.run_forever, daemon=True).start()
        self._numbers = itertools.count(1)
        self._do(self._start(path, profile))
        self.ask("session.new", capabilities={})
        self.tab = self.ask("browsingContext.getTree")["contexts"][0]["context"]

    def _do(self, work):
        return asyncio.run_coroutine_threadsafe(work, self._loop).result()

    async def _start(self, path, profile):
        self._process = await asyncio.create_subprocess_exec(
            path, "--headless", "--no-remote", "--profile", str(profile),
            "--remote-debugging-port=0",
            stdout=asyncio.subprocess.DEVNULL, stderr=asyncio.subprocess.PIPE,
        )  # fmt: skip
        async with asyncio.timeout(PATIENCE):
            async for line in self._process.stderr:
                if found := re.search(rb"listening on (ws://\S+)", line):
                    break
            else:
                raise OSError("it ended at once")
        # what it says later is read and let go, so that it never waits to be heard
        self._heard = self._loop.create_task(self._process.stderr.read())
        self._socket = await websocket_connect(
            found[1].decode() + "/session", max_message_size=2**28
        )

    def ask(self, method, **given):
        """Send a command and return its result; RuntimeError if it is refused."""
        return self._do(self._ask(method, given))

    async def _ask(self, method, given):
        number = next(self._numbers)
        await self._socket.write_message(
            json.dumps({"id": number, "method": method, "params": given})
        )
        async with asyncio.timeout(PATIENCE):
            while True:
                reply = json.loads(await self._socket.read_message())
                if reply.get("id") == number:
                    break
        if reply["type"] != "success":
            raise RuntimeError(f"{method}: {reply}")
        return reply["result"]

    def open(self, url):
        self.ask("browsingContext.navigate", context=self.tab, url=url, wait="complete")

    def run(self, script):
        """Return what an expression comes to, by way of JSON."""
        told = self.ask("script.evaluate", awaitPromise=True, target={"context": self.tab},
                        expression=f"(async () => JSON.stringify(await ({script})))()")  # fmt: skip
        if told["type"] != "success":
            raise RuntimeError(told["exceptionDetails"]["text"])
        return json.loads(told["result"].get("value") or "null")

    def wait(self, script):
        """Wait until an expression is true."""
        waited = f"""new Promise((done) => {{ let left = {20 * PATIENCE};
            (function look() {{ if ({script}) done(true); else if (!left--) done(false);
            else setTimeout(look, 50); }})(); }})"""
        assert self.run(waited), script

    def size(self, width, height):
        self.ask("browsingContext.setViewport", context=self.tab,
                 viewport={"width": width, "height": height})  # fmt: skip

    def touch(self, x, y):
        """Touch a place of the window with a finger."""
        down, up = ({"type": f"pointer{what}", "button": 0} for what in ("Down", "Up"))
        moved = {"type": "pointerMove", "x": round(x), "y": round(y)}
        self.ask("input.performActions", context=self.tab, actions=[
            {"type": "pointer", "id": "finger", "parameters": {"pointerType": "touch"},
             "actions": [moved, down, up]},
        ])  # fmt: skip

    def choose(self, selector, file):
        """Choose a file in an input."""
        located = self.ask("browsingContext.locateNodes", context=self.tab,
                           locator={"type": "css", "value": selector})  # fmt: skip
        (node,) = located["nodes"]
        self.ask("input.setFiles", context=self.tab, element={"sharedId": node["sharedId"]},
                 files=[str(file)])  # fmt: skip

    def print(self):
        """Return the tab printed on A4, PDF."""
        page = self.ask("browsingContext.print", context=self.tab, background=True,
                        page={"width": 21.0, "height": 29.7})  # fmt: skip
        return base64.b64decode(page["data"])

    def close(self):
        with contextlib.suppress(Exception):
            self.ask("browser.close")
        with contextlib.suppress(Exception):
            self._do(asyncio.wait_for(self._process.wait(), 10))
        if self._process.returncode is None:
            self._process.kill()
        self._loop.call_soon_threadsafe(self._loop.stop)
