"""The examples of a page: its fenced blocks, in their order, as what a reader would type and see."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

FENCE = re.compile(r"^(?P<indent> *)```(?P<kind>[\w-]*)[^\n]*\n(?P<body>.*?)^(?P=indent)```\s*$", re.S | re.M)
ENDS = re.compile(r"<!--\s*ends with (\d+)\s*-->\s*\Z")
NAMED = re.compile(r"\A(?:#|//) (add to )?([\w.-]+\.(?:yaml|csv|txt|json|py))\b[^\n]*\n")
PROMPT = "$ "


@dataclass(frozen=True)
class Block:
    """One fenced block: kind, text, first line in the page, the status its last command leaves."""

    kind: str
    text: str
    line: int
    status: int
    start: int
    end: int

    @property
    def file(self) -> str | None:
        """The name of the file a reader makes of it, where its first line names one."""
        found = NAMED.match(self.text)
        return None if found is None or self.kind in ("console", "python", "output") else found[2]

    def write_into(self, folder: Path) -> bool:
        """Write the file it is, or add to it; whether it is one."""
        if self.file is None:
            return False
        adds = self.text.startswith(("# add to ", "// add to "))
        with (folder / self.file).open("a" if adds else "w", encoding="utf-8") as file:
            file.write(self.text)
        return True


@dataclass(frozen=True)
class Command:
    """One command of a console block with what the page shows after it."""

    typed: str
    shown: tuple[str, ...]


def blocks(page: Path) -> Iterator[Block]:
    """Every fenced block of a page."""
    text = page.read_text(encoding="utf-8")
    for found in FENCE.finditer(text):
        indent = len(found["indent"])
        lines = [line[indent:] if line[:indent].isspace() else line for line in found["body"].splitlines()]
        ends = ENDS.search(text[: found.start()])
        yield Block(
            found["kind"],
            "\n".join(lines) + "\n",
            text.count("\n", 0, found.start()) + 1,
            0 if ends is None else int(ends[1]),
            found.start("body"),
            found.end("body"),
        )


def commands(block: Block) -> list[Command]:
    """What a console block has one type, line by line, and what it shows after each."""
    found: list[tuple[str, list[str]]] = []
    open_line = False
    for line in block.text.splitlines():
        if open_line:
            found[-1] = (f"{found[-1][0]}\n{line}", [])
        elif line.startswith(PROMPT):
            found.append((line.removeprefix(PROMPT), []))
        elif found:
            found[-1][1].append(line)
        else:
            raise ValueError(f"line {block.line}: a console block begins with a command after “{PROMPT}”")
        open_line = line.endswith("\\") and (open_line or line.startswith(PROMPT))
    return [Command(typed, tuple(shown)) for typed, shown in found]


def holds(shown: tuple[str, ...], came: list[str]) -> bool:
    """Whether what came is what is shown; “…” stands for what is left out.

    A line of “…” alone is any number of lines, “…” within a line any part of it.
    """
    wanted = [line.rstrip() for line in shown]
    lines = [line.rstrip() for line in came]
    while lines and not lines[-1]:
        lines.pop()
    while wanted and not wanted[-1]:
        wanted.pop()
    pattern = "".join(r"(?:.*\n)*?" if line.strip() == "…" else _line(line) for line in wanted)
    return re.fullmatch(pattern, "".join(line + "\n" for line in lines)) is not None


def _line(line: str) -> str:
    return ".*".join(re.escape(part) for part in line.split("…")) + "\n"
