"""Doing what a page says: commands in this process, files written, Python run, in a folder of its own."""

from __future__ import annotations

import io
import os
import shlex
import shutil
from collections.abc import Callable, Sequence
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

import pytest
from starlette.testclient import TestClient

from bellhousing.cli.main import run
from bellhousing.tasks.demo import open_demo
from bellhousing.web.app import create_app
from tests.docs.pages import Block, Command, blocks, commands, holds

ADDRESS = "http://127.0.0.1:8350"

NOT_RUN = {
    "source": "changes the reader's own shell",
}
"""First words of commands that are shown and not run, and why."""


@dataclass
class Reader:
    """Somebody who types what a page says, in an empty folder with an own cache."""

    folder: Path
    cache: Path
    patch: pytest.MonkeyPatch
    started: Path | None = None
    names: dict[str, Any] = field(default_factory=dict)

    def type(self, typed: str) -> tuple[int, str]:
        """Do one command and return its status and what it printed, errors among it."""
        words = shlex.split(typed.replace("\\\n", " "), comments=True)
        match words:
            case ["bellhousing" | ".venv/bin/bellhousing", *rest]:
                return self._printed(lambda: run(rest))
            case ["export", pair]:
                name, _, value = pair.partition("=")
                self.patch.setenv(name, value)
                return 0, ""
            case ["./start", *options]:
                # The shop is filled as a start fills it; the server itself has tests of its own.
                folder = options[1] if options[:1] == ["--shop"] else "of-this-start"
                self.started = self.folder / folder
                open_demo(self.started, cache=self.cache).close()
                return 0, ""
            case ["curl", *rest]:
                return 0, self._asked(rest)
            case ["cat", name]:
                return 0, Path(name).read_text(encoding="utf-8")
            case ["cp", source, target]:
                shutil.copyfile(source, target)
                return 0, ""
            case _:
                raise AssertionError(f"a reader's example is not run: {typed}")

    def _asked(self, words: list[str]) -> str:
        """What the app answers to a request, the shop last started being open."""
        headers, sent, address = {}, None, ""
        rest = iter(words)
        for word in rest:
            if word == "-H":
                name, _, value = next(rest).partition(": ")
                headers[name] = value
            elif word == "--json":
                headers |= {"Content-Type": "application/json", "Accept": "application/json"}
                sent = next(rest)
            elif word == "--data-urlencode":
                name, _, value = next(rest).partition("=")
                headers["Content-Type"] = "application/x-www-form-urlencoded"
                sent = urlencode({name: value})
            elif word != "-s":
                address = word
        assert self.started is not None, "the page starts no shop"
        with open_demo(self.started, cache=self.cache) as shop:
            asking = TestClient(create_app(shop), base_url=ADDRESS)
            method = "GET" if sent is None else "POST"
            return asking.request(method, address, content=sent, headers=headers).text

    def execute(self, block: Block, page: Path) -> str:
        """Run a block of Python in the page's own names and return what it printed."""
        code = compile("\n" * block.line + block.text, str(page), "exec")
        return self._printed(lambda: exec(code, self.names))[1]

    @staticmethod
    def _printed(call: Callable[[], int | None]) -> tuple[int, str]:
        told = io.StringIO()
        with redirect_stdout(told), redirect_stderr(told):
            status = call()
        return status or 0, told.getvalue()


def shown_only(command: Command) -> bool:
    """Whether a command is one that is shown and not run."""
    return command.typed.split()[0] in NOT_RUN


def is_server(command: Command) -> bool:
    """Whether a command opens the invented shop and goes on: the shop is made, its address is not held."""
    return command.typed.startswith("./start")


def follow(page: Path, reader: Reader) -> list[str]:
    """Do everything a page says, in order; what came otherwise than shown."""
    wrong: list[str] = []
    found = list(blocks(page))
    for place, block in enumerate(found):
        where = f"{page.name}, line {block.line}"
        if block.write_into(reader.folder):
            continue
        if block.kind == "console":
            wrong += _typed(block, reader, where)
        elif block.kind == "python":
            came = reader.execute(block, page)
            after = found[place + 1] if place + 1 < len(found) else None
            shown = after.text if after is not None and after.kind == "output" else ""
            wrong += _compared(where, "the Python there", shown.splitlines(), came)
    return wrong


def _typed(block: Block, reader: Reader, where: str) -> list[str]:
    wrong: list[str] = []
    every = commands(block)
    for command in every:
        if shown_only(command):
            continue
        status, came = reader.type(command.typed)
        wanted = block.status if command is every[-1] else 0
        if status != wanted:
            wrong.append(f"{where}: {command.typed}\nleaves {status}, not {wanted}:\n{came}")
        elif not is_server(command):
            wrong += _compared(where, command.typed, command.shown, came)
    return wrong


def _compared(where: str, what: str, shown: Sequence[str], came: str) -> list[str]:
    if holds(tuple(shown), came.splitlines()):
        return []
    return [f"{where}: {what}\nshown:\n" + "\n".join(shown) + f"\ncame:\n{came}"]


def settle(folder: Path, cache: Path, patch: pytest.MonkeyPatch) -> Reader:
    """A reader in a folder, with nothing of this machine's own shop about."""
    for name in [name for name in os.environ if name.startswith("BELLHOUSING_")]:
        patch.delenv(name)
    patch.chdir(folder)
    patch.setenv("BELLHOUSING_CACHE", str(cache))
    patch.setenv("XDG_DATA_HOME", str(folder / "data"))
    patch.setenv("COLUMNS", "80")
    return Reader(folder, cache, patch)
