"""What may be asked of an app, sensible and senseless, made from its OpenAPI description."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any
from urllib.parse import quote, urlencode

from hypothesis import strategies as st

NASTY = (
    "", " ", "\x00", "a\x00b", "\ud800", "‮", "é", "é", "😀" * 9, "\r\nX-Header: 1", "../../etc/passwd",
    "..%2f..%2f", "' OR 1=1 --", "\"; DROP TABLE job; --", "<script>alert(1)</script>", "{{ 7 * 7 }}", "${x}",
    "%s%n", "NaN", "inf", "-inf", "1e999", "-1", "0", "9" * 20, "9" * 400, "1e-400", "٣", "²", "½ in", "0x10",
    "1/0 in", "1e308 psi", "-5 psi", "5 furlongs", "2026-02-30", "0001-01-01", "9999-12-31", "null", "true",
    "[]", "{}", "|", "|||", "0|||", "1-999999", "999999999-1", "1,2,,3", ";", "a;" * 300, "part-", "/", "//x",
    "\\", "x" * 3000, "x y " * 2000, "(" * 500, "é" * 5000, "job", "A" * 200, "-" * 100, "*" * 100, "?", "#",
)  # fmt: skip
WRONG: tuple[Any, ...] = (None, True, 0, -1, 1e308, 2**70, [], {}, [[]], ["x"], {"x": "y"})
BODIES = (
    b"", b"{", b"null", b"[]", b'"x"', b"1", b"\xff\xfe", b"[" * 5000, b'{"text":' * 500, b"\x00" * 100,
    b'{"text": "\\ud800"}', b'{"text": NaN}', b'{"text": 1e999}', b'{"count": ' + b"9" * 5000 + b"}",
    b"a=1&" * 2000, b"%", b"text=%ff%fe%00", b"--x\r\n", b"--x\r\nContent-Disposition: form-data\r\n\r\n",
    b'--x\r\nContent-Disposition: form-data; name="photo"; filename="../../x"\r\n\r\nGIF89a\r\n--x--\r\n',
    b"x" * 70_000,
)  # fmt: skip
KINDS = (
    "application/json", "application/x-www-form-urlencoded", "multipart/form-data; boundary=x",
    "multipart/form-data", "text/plain", "application/json; charset=utf-16", "\u00e9", "",
)  # fmt: skip
Values = Callable[[Mapping[str, Any]], st.SearchStrategy[Any]]
ACCEPTED = ("application/json", "text/html", "*/*", "", "application/json, text/html", "nonsense;q=x")


@dataclass(frozen=True)
class Request:
    """One request as it is sent; `operation` is the address as it is described."""

    method: str
    operation: str
    path: str
    headers: Mapping[str, str]
    body: bytes

    def told(self) -> str:
        """The request on one line."""
        kind = self.headers.get("content-type", "")
        return f"{self.method} {self.path[:300]} [{kind}] {self.body[:300]!r}"


@st.composite
def requests(draw: st.DrawFn, description: Mapping[str, Any]) -> Request:
    """A request to any address of a description."""
    operations = [
        (path, method, found)
        for path, methods in description["paths"].items()
        for method, found in methods.items()
    ]
    path, method, operation = draw(st.sampled_from(operations))
    # Now and then everything may be as it should, so that something is kept as well.
    values = _sensible if draw(st.booleans()) else _values
    filled, asked = path, []
    for part in operation["parameters"]:
        if part["in"] == "path":
            filled = filled.replace(
                f"{{{part['name']}}}", quote(_bytes(draw(values(part["schema"]))), safe="")
            )
        elif draw(st.integers(0, 3)) == 0:
            asked.append((part["name"], _bytes(draw(values(part["schema"])))))
    headers = {"accept": draw(st.sampled_from(ACCEPTED))}
    body = b""
    if "requestBody" in operation:
        headers["content-type"], body = draw(_bodies(operation["requestBody"]["content"], values))
    if method == "get" and draw(st.integers(0, 19)) == 0:
        method = "head"
    return Request(method.upper(), path, filled + (f"?{urlencode(asked)}" if asked else ""), headers, body)


def _bytes(value: object) -> bytes:
    return str(value).encode("utf-8", "surrogatepass")


def _sensible(schema: Mapping[str, Any]) -> st.SearchStrategy[Any]:
    return st.sampled_from(schema.get("examples", ["x"]))


def _values(schema: Mapping[str, Any]) -> st.SearchStrategy[Any]:
    """A value of a field: mostly one that may be written there."""
    sensible = _sensible(schema)
    if schema.get("type") == "integer":
        return _mostly(sensible, st.integers(0, 2**80))
    other = st.one_of(st.sampled_from(NASTY), st.text(max_size=40), _spoilt(sensible))
    return _mostly(sensible, other)


def _mostly(sensible: st.SearchStrategy[Any], other: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    # Alternatives of `one_of` that are alike count as one.
    return st.sampled_from(range(6)).flatmap(lambda which: other if which == 5 else sensible)


@st.composite
def _spoilt(draw: st.DrawFn, sensible: st.SearchStrategy[str]) -> str:
    text = draw(sensible)
    at = draw(st.integers(0, len(text)))
    return (
        text[:at]
        + draw(st.one_of(st.sampled_from(NASTY), st.characters()))
        + text[at + draw(st.integers(0, 3)) :]
    )


@st.composite
def _bodies(draw: st.DrawFn, content: Mapping[str, Any], values: Values) -> tuple[str, bytes]:
    if values is _values and draw(st.integers(0, 5)) == 0:
        return draw(st.sampled_from(KINDS)).encode().decode("latin-1"), draw(st.sampled_from(BODIES))
    kind = draw(st.sampled_from(sorted(content)))
    schema = content[kind]["schema"]
    fields: dict[str, Any] = {}
    for name, field in schema["properties"].items():
        if draw(st.integers(0, 9)) < 7:
            fields[name] = draw(values(field))
    for pattern in schema.get("patternProperties", ()):
        if draw(st.booleans()):
            fields[pattern.removeprefix("^") + draw(st.sampled_from(("pan", "filter", "", "\x00", "x")))] = (
                "1"
            )
    if kind == "multipart/form-data":
        files = [name for name, field in schema["properties"].items() if "contentMediaType" in field]
        return "multipart/form-data; boundary=x", _multipart(draw, fields, files)
    if kind == "application/json":
        if fields and values is _values and draw(st.integers(0, 9)) == 0:
            fields[draw(st.sampled_from(sorted(fields)))] = draw(st.sampled_from(WRONG))
        return kind, json.dumps(fields).encode()
    return kind, urlencode({name: _bytes(value) for name, value in fields.items()}).encode()


def _multipart(draw: st.DrawFn, fields: Mapping[str, str], files: list[str]) -> bytes:
    parts = []
    for name, value in fields.items():
        said = f'form-data; name="{name}"'
        data = _bytes(value)
        if name in files:
            said += f'; filename="{draw(st.sampled_from(("a.csv", "a.jpg", "../x", "", "é.png")))}"'
            data = draw(
                st.sampled_from(
                    (b"", b"t,speed\n0,1\n1,2\n", b"\xff\xd8\xff\xe0", b"\x89PNG\r\n\x1a\n", data)
                )
            )
        parts.append(b"--x\r\nContent-Disposition: " + said.encode() + b"\r\n\r\n" + data + b"\r\n")
    return b"".join(parts) + b"--x--\r\n"
