"""PDF from a template of the house and plain data: archival, tagged, the same bytes for the same data.

What people typed reaches the template as data alone, so that nothing in it is ever taken for markup.
"""

from __future__ import annotations

import json
import re
import tempfile
import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from functools import lru_cache
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from bellhousing.errors import InputFileError

if TYPE_CHECKING:
    from typst import Fonts

Standard = Literal["a-2b", "ua-1"]
STANDARDS: tuple[Standard, ...] = ("a-2b", "ua-1")
"""What the file says of itself: for archives, and for readers who cannot see it."""

FACE = "Libertinus Serif"
LONGEST = 1500
"""Letters of one text that are printed; what is longer stands in full on the page of the job."""

UNBROKEN = 24
BREAK = "\u200b"
NO_SIGN = "\u25a1"
NO_LETTER = "could not be displayed"
_JOINERS = frozenset("\u200c\u200d\ufe0e\ufe0f\u2060\ufeff")
_LONG_WORD = re.compile(rf"\S{{{UNBROKEN},}}")
_ALWAYS = frozenset(chr(code) for code in range(0x20, 0x7F)) | frozenset(
    chr(code) for code in range(0xA0, 0x180)
)
_LINES = re.compile(r"\n{3,}")


def print_pdf(
    template: str,
    data: Mapping[str, Any],
    *,
    at: datetime,
    files: Mapping[str, bytes] | None = None,
    fonts: Path | None = None,
) -> bytes:
    """A template filled with data, as PDF.

    Parameters
    ----------
    template : name of a template of the house
    data : plain data, all of its texts made printable first
    at : the moment the file says it was made; the same moment and data give the same bytes
    files : pictures the template names, by their names
    fonts : a folder of further fonts, used for letters that the usual one does not have

    Raises
    ------
    InputFileError : a picture that cannot be printed, or no room on the disk
    """
    own = _folder(fonts)
    text = (resources.files("bellhousing.reports") / "print" / template).read_bytes()
    try:
        return _printed(text, data, files or {}, own, at)
    except OSError as error:
        raise InputFileError(
            f"it cannot be printed, {error.strerror or error}",
            where=tempfile.gettempdir(),
            remedy="make room on the disk, then print it again; nothing that was kept is touched",
        ) from error


def _printed(
    text: bytes, data: Mapping[str, Any], files: Mapping[str, bytes], own: str, at: datetime
) -> bytes:
    import typst

    with tempfile.TemporaryDirectory(prefix="bellhousing-") as folder:
        root = Path(folder)
        (root / "main.typ").write_bytes(text)
        for name, content in files.items():
            (root / name).write_bytes(content)
        try:
            return _compiled(root, printable(data, own), own, at)
        except typst.TypstError as error:
            if NO_LETTER not in str(error.message):
                raise _unprinted(error) from None
        try:
            # A sign that only fails beside another one, or in one style: then the plainest letters alone.
            return _compiled(root, _with(data, _plainest), own, at)
        except typst.TypstError as error:
            raise _unprinted(error) from None


def _compiled(root: Path, data: Mapping[str, Any], fonts: str, at: datetime) -> bytes:
    import typst

    plain = json.dumps(data, ensure_ascii=False, sort_keys=True)
    (root / "data.json").write_text(plain, encoding="utf-8")
    return typst.compile(
        str(root / "main.typ"),
        root=str(root),
        font_paths=_faces(fonts),
        ignore_system_fonts=True,
        pdf_standards=list(STANDARDS),
        timestamp=int(at.timestamp()),
    )


def _unprinted(error: Exception) -> InputFileError:
    said = str(getattr(error, "message", error)).strip()[:200]
    return InputFileError(
        f"this cannot be printed: {said}",
        remedy="where it names a picture, look at that photo of the job: it may be damaged",
    )


def printable(value: Any, fonts: str = "") -> Any:
    """Plain data with each of its texts made printable."""
    missing = _missing_in(value, fonts)
    return _with(value, lambda text: _text(text, missing))


def unprintable(value: Any, fonts: Path | None = None) -> bool:
    """Whether some text in plain data holds signs that no font here has."""
    return bool(_missing_in(value, _folder(fonts)))


def _folder(fonts: Path | None) -> str:
    return str(fonts) if fonts is not None and fonts.is_dir() else ""


def _with(value: Any, change: Any) -> Any:
    if isinstance(value, str):
        return change(value)
    if isinstance(value, Mapping):
        return {name: _with(held, change) for name, held in value.items()}
    if isinstance(value, list | tuple):
        return [_with(held, change) for held in value]
    return value


def _texts(value: Any) -> Iterable[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, Mapping):
        for held in value.values():
            yield from _texts(held)
    elif isinstance(value, list | tuple):
        for held in value:
            yield from _texts(held)


def _missing_in(value: Any, fonts: str) -> frozenset[str]:
    signs = {sign for text in _texts(value) for sign in _plain(text)} - _ALWAYS - {"\n", BREAK}
    return missing_signs("".join(sorted(signs)), fonts)


def _plain(text: str) -> str:
    """Text in one form, without what cannot be seen or turns the direction of what follows."""
    kept = []
    for sign in unicodedata.normalize("NFC", text):
        if sign in _JOINERS:
            continue
        kind = unicodedata.category(sign)
        if sign in "\t\r\u2028\u2029\x0b\x0c\x85":
            kept.append(" " if sign == "\t" else "\n")
        elif sign == "\n" or kind[0] != "C":
            kept.append(sign)
        elif kind in ("Cn", "Co", "Cs"):
            kept.append(NO_SIGN)
    return _LINES.sub("\n\n", "".join(kept).replace("\n\n\n", "\n\n"))


def _text(text: str, missing: frozenset[str]) -> str:
    plain = _plain(text)
    if len(plain) > LONGEST:
        plain = plain[:LONGEST].rstrip() + " … (shortened)"
    shown = "".join(_named(sign) if sign in missing else sign for sign in plain)
    return _LONG_WORD.sub(lambda found: _broken(found[0]), shown)


def _plainest(text: str) -> str:
    """Text in Latin letters alone, everything else by its name or as an empty box."""
    return _text(text, frozenset(sign for sign in _plain(text) if sign not in _ALWAYS and sign != "\n"))


def _named(sign: str) -> str:
    """What stands for a sign without a letter form: a picture by its name, anything else as an empty box."""
    if unicodedata.category(sign) == "So":
        name = unicodedata.name(sign, "").lower()
        if name.startswith("regional indicator symbol letter "):
            return name[-1].upper()
        if name:
            return f"[{name}]"
    return "" if unicodedata.category(sign) in ("Mn", "Me", "Sk") else NO_SIGN


def _broken(word: str) -> str:
    """A word that a line may break in, every so many letters."""
    return BREAK.join(word[start : start + 12] for start in range(0, len(word), 12))


@lru_cache(maxsize=256)
def missing_signs(signs: str, fonts: str = "") -> frozenset[str]:
    """Which of some signs no font at hand can show."""
    if not signs or _shows(signs, fonts):
        return frozenset()
    if len(signs) == 1:
        return frozenset(signs)
    half = len(signs) // 2
    return missing_signs(signs[:half], fonts) | missing_signs(signs[half:], fonts)


@lru_cache(maxsize=4)
def _faces(folder: str) -> Fonts:
    """The faces that come with the printer and those of a folder, never the machine's own."""
    import typst

    return typst.Fonts(include_system_fonts=False, font_paths=[folder] if folder else [])


def _shows(signs: Sequence[str], fonts: str) -> bool:
    import typst

    # Each sign on a line of its own, so that none joins with its neighbour.
    source = f'#set document(title: "x")\n#set text(lang: "en", font: "{FACE}")\n#sys.inputs.signs'.encode()
    try:
        typst.compile(
            source,
            font_paths=_faces(fonts),
            ignore_system_fonts=True,
            sys_inputs={"signs": "\n".join(signs)},
            pdf_standards=list(STANDARDS),
            timestamp=0,
        )
    except typst.TypstError:
        return False
    return True
