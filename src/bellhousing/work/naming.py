"""Which parts somebody means: by their own name, that of a seal or a flange, or a fault seated there."""

from __future__ import annotations

import re
from collections.abc import Iterator
from difflib import get_close_matches

from bellhousing.boxes.parts_tree import Part, PartsTree
from bellhousing.errors import FindingError

MOST_NAMED = 5
_SMALL_WORDS = frozenset({"the", "a", "an", "of", "to", "at", "on", "in", "under"})


def find_parts(tree: PartsTree, text: str) -> tuple[str, ...]:
    """Return the slugs of the parts a text names, several only for a flange or a fault seated in several.

    A whole name goes before a part of one; names of parts go before those of what is at them.

    Raises
    ------
    FindingError : it names none, or could mean several; the nearest are listed
    """
    if text in tree.parts:
        return (text,)
    key = plain(text)
    if not key:
        raise FindingError("no part is named", remedy="name one, such as " + _some(tree))
    for names in (_of_parts(tree), _of_seals(tree), _of_springs(tree)):
        found = _unique(part for name, part in names if plain(name) == key)
        if len(found) == 1 or (found and any(_own_name(tree.parts[slug]) == key for slug in found)):
            return _first_by_name(tree, found, key)
        if found:
            raise _several(tree, text, found)
    held = _unique(
        part
        for flange in tree.flanges.values()
        if key in (plain(flange.name), plain(flange.slug))
        for part in tree.held_by(flange.slug)
    )
    seated = _unique(iter(tree.seats_of(text.strip())))
    if held or seated:
        return held or seated
    return _by_some_words(tree, text, key)


def plain(text: str) -> str:
    """Return a name as it is compared: small letters, singular, without small words and signs."""
    words = re.sub(r"[^a-z0-9]+", " ", text.lower()).split()
    return " ".join(_singular(word) for word in words if word not in _SMALL_WORDS)


def _singular(word: str) -> str:
    return word[:-1] if len(word) > 3 and word.endswith("s") and not word.endswith("ss") else word


def _own_name(part: Part) -> str:
    return plain(part.name)


def _first_by_name(tree: PartsTree, found: tuple[str, ...], key: str) -> tuple[str, ...]:
    exact = [slug for slug in found if _own_name(tree.parts[slug]) == key]
    return (exact[0],) if exact else found


def _of_parts(tree: PartsTree) -> Iterator[tuple[str, Part]]:
    for part in tree.parts.values():
        for name in (part.name, part.slug.replace("-", " "), *part.words, part.order_name):
            yield name, part


def _of_seals(tree: PartsTree) -> Iterator[tuple[str, Part]]:
    for part in tree.parts.values():
        for seal in part.seals:
            yield seal.name, part
            yield seal.slug.replace("-", " "), part


def _of_springs(tree: PartsTree) -> Iterator[tuple[str, Part]]:
    for part in tree.parts.values():
        for spring in part.springs:
            yield spring.name, part


def _unique(parts: Iterator[Part]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(part.slug for part in parts))


def _by_some_words(tree: PartsTree, text: str, key: str) -> tuple[str, ...]:
    """One part only has a name with all these words: it is meant, else nobody knows which."""
    wanted = set(key.split())
    every = [*_of_parts(tree), *_of_seals(tree), *_of_springs(tree)]
    for names in (list(_of_parts(tree)), every):
        found = _unique(part for name, part in names if wanted <= set(plain(name).split()))
        if len(found) == 1:
            return found
        if found:
            raise _several(tree, text, found)
    shown = {plain(name): name for name, _ in reversed(every) if name}
    near = [shown[name] for name in get_close_matches(key, shown, n=MOST_NAMED, cutoff=0.6)]
    near += [name for name, _ in every if wanted & set(plain(name).split())]
    listed = list(dict.fromkeys(shown.get(plain(name), name) for name in near))[:MOST_NAMED]
    raise FindingError(
        f"no part of this box is called '{text.strip()[:60]}'",
        remedy=f"did you mean {' or '.join(listed)}?" if listed else "known are such as " + _some(tree),
    )


def _several(tree: PartsTree, text: str, found: tuple[str, ...]) -> FindingError:
    names = [tree.parts[slug].name for slug in found]
    more = f" and {len(names) - MOST_NAMED} more" if len(names) > MOST_NAMED else ""
    return FindingError(
        f"'{text.strip()[:60]}' could be several parts",
        remedy=f"say which: {'; '.join(names[:MOST_NAMED])}{more}",
    )


def _some(tree: PartsTree) -> str:
    return ", ".join(part.name for part in list(tree.parts.values())[:: max(1, len(tree.parts) // 4)][:4])
