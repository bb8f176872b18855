"""People of the shop: who may come in, what each may do, and pass phrases that are worth the name."""

from __future__ import annotations

import re
import unicodedata
from typing import Literal, get_args

from bellhousing.errors import RecordError
from bellhousing.quantities.units import shortened
from bellhousing.records.people import Person, known_as
from bellhousing.tasks.answers import Shape
from bellhousing.tasks.hearing import need_letters
from bellhousing.tasks.shop import UNNAMED, Shop

Role = Literal["reader", "mechanic", "proprietor"]
ROLES: tuple[Role, ...] = get_args(Role)
MAY = {
    "reader": "look only",
    "mechanic": "work on jobs",
    "proprietor": "everything, people and settings too",
}
LONGEST_NAME = 80
FEWEST_LETTERS = 12
FEWEST_DIFFERENT = 6
LONGEST_PHRASE = 200
# What stands as the name of something else in the book.
TAKEN_NAMES = frozenset({UNNAMED, "owner", "log"})
RUNS = (
    "abcdefghijklmnopqrstuvwxyz",
    "01234567890",
    "qwertyuiop",
    "asdfghjkl",
    "zxcvbnm",
    "qwertzuiopasdfghjkl",
)
# Words that everybody tries first, and those anybody would try on a shop like this.
COMMON = frozenset(
    {"passphrase", "password", "passwort", "pass", "phrase", "word", "secret", "login", "letmein", "welcome"}
    | {"admin", "user", "test", "changeme", "iloveyou", "dragon", "monkey", "football", "baseball", "master"}
    | {"shadow", "sunshine", "princess", "shop", "workshop", "garage", "mechanic", "proprietor", "reader"}
    | {"bellhousing", "transmission", "gearbox", "automatic", "torque", "converter"}
)
# Figures and signs that stand for letters; the small l and the i are taken for one.
INSTEAD = str.maketrans("01l3457@$", "oiieastas")


class PersonAnswer(Shape):
    """Somebody who may come in, what for, and whether a pass phrase is set."""

    name: str
    role: str
    may: str
    has_phrase: bool
    text: str


def add(shop: Shop, name: str, role: str, *, phrase: str | None = None, who: str = UNNAMED) -> PersonAnswer:
    """Let somebody in with a role; without a pass phrase the door stays shut until one is set.

    Raises
    ------
    RecordError : a name that cannot be used or is taken, no such role, or a weak pass phrase.
    """
    name, role = checked_name(name), checked_role(role)
    hashed = None if phrase is None else _hashed(shop, phrase, name)
    at, who = shop.clock(), shop.signed(who)
    person = shop.store.access.people.add(name, role, at=at, who=who)
    if hashed is not None:
        person = shop.store.access.people.set_phrase(name, hashed, at=at, who=who)
    return answer(person)


def everybody(shop: Shop) -> tuple[PersonAnswer, ...]:
    """Everybody who may come in, by name."""
    return tuple(answer(person) for person in shop.store.access.people.all())


def set_role(shop: Shop, name: str, role: str, *, who: str = UNNAMED) -> PersonAnswer:
    """Give somebody another role.

    Raises
    ------
    RecordError : nobody of that name, no such role, or the last proprietor.
    """
    people = shop.store.access.people
    return answer(people.set_role(name, checked_role(role), at=shop.clock(), who=shop.signed(who)))


def remove(shop: Shop, name: str, *, who: str = UNNAMED) -> PersonAnswer:
    """Let somebody in no more, from this moment; what was written keeps the name.

    Raises
    ------
    RecordError : nobody of that name, or the last proprietor.
    """
    return answer(shop.store.access.people.remove(name, at=shop.clock(), who=shop.signed(who)))


def set_phrase(shop: Shop, name: str | None, phrase: str, *, who: str = UNNAMED) -> PersonAnswer:
    """Set somebody's pass phrase; in a shop without people the first one becomes proprietor.

    Raises
    ------
    RecordError : nobody of that name, no name where it is not plain whose, or a weak pass phrase.
    """
    people = shop.store.access.people
    known = people.all()
    if not known:
        return add(shop, name or "Proprietor", "proprietor", phrase=phrase, who=who)
    if name is None:
        proprietors = [person.name for person in known if person.role == "proprietor"]
        if len(proprietors) != 1:
            raise RecordError(
                "it is not said whose pass phrase", remedy=f"name one of {', '.join(proprietors)}"
            )
        name = proprietors[0]
    found = people.find(name)
    if found is None:
        raise RecordError("there is nobody of that name", where=shortened(name, 80), remedy="add them first")
    hashed = _hashed(shop, phrase, found.name)
    return answer(people.set_phrase(found.name, hashed, at=shop.clock(), who=shop.signed(who)))


def need_a_proprietor(shop: Shop) -> None:
    """Refuse to open the door to others before somebody can lock it.

    Raises
    ------
    RecordError : no proprietor with a pass phrase.
    """
    found = shop.store.access.people.all()
    if not any(person.role == "proprietor" and person.phrase for person in found):
        raise RecordError(
            "the workshop cannot be let in before a pass phrase is set",
            remedy="type: bellhousing people set-passphrase",
        )


def checked_role(role: str) -> Role:
    """A role by its name; raises RecordError if there is none of that name."""
    for known in ROLES:
        if role.strip().casefold() == known:
            return known
    raise RecordError(
        "there is no such role", where=shortened(role, 40), remedy=f"the roles are: {', '.join(ROLES)}"
    )


def checked_name(name: str) -> str:
    """A name that can stand beside what somebody wrote; raises RecordError if it cannot."""
    need_letters(name)
    tidy = " ".join(unicodedata.normalize("NFC", name).split())
    if not any(letter.isalnum() for letter in tidy):
        raise RecordError("a name needs letters", where=shortened(name, 40), remedy="say who it is")
    if len(tidy) > LONGEST_NAME:
        raise RecordError("the name is too long", remedy=f"at most {LONGEST_NAME} letters")
    if any(unicodedata.category(letter).startswith("C") for letter in tidy):
        raise RecordError("the name holds a sign that cannot be seen", remedy="leave it out")
    if known_as(tidy) in TAKEN_NAMES:
        raise RecordError("that name means something else in the book", where=tidy, remedy="give another")
    return tidy


def weakness(phrase: str, name: str = "") -> str | None:
    """Why a pass phrase is too weak, in words; None for one that will do."""
    told = unicodedata.normalize("NFKC", phrase).casefold()
    if len(phrase) > LONGEST_PHRASE:
        return f"it is longer than {LONGEST_PHRASE} letters"
    if len(told) < FEWEST_LETTERS:
        return f"it has {len(told)} letters; take at least {FEWEST_LETTERS}, three or four words for example"
    if len(set(told)) < FEWEST_DIFFERENT:
        return f"it is made of {len(set(told))} different letters only"
    if told.replace(" ", "").isdecimal():
        return "it is made of figures only; take words"
    left = _without_common(told, name)
    if len(left) < FEWEST_LETTERS // 2:
        return "it is little more than words and rows of keys that everybody tries first, or the name itself"
    return None


def normal(phrase: str) -> str:
    """A pass phrase as it is hashed: however a keyboard composes its letters."""
    return unicodedata.normalize("NFKC", phrase)


def answer(person: Person) -> PersonAnswer:
    """A person as it is told, without the hash."""
    told = "" if person.phrase else "; no pass phrase yet, so the door stays shut"
    return PersonAnswer(
        name=person.name,
        role=person.role,
        may=MAY.get(person.role, ""),
        has_phrase=person.phrase is not None,
        text=f"{person.name}: {person.role}, {MAY.get(person.role, '')}{told}",
    )


def _without_common(told: str, name: str) -> str:
    """What is left of a phrase without what everybody tries first; rows of keys are any four in a row."""
    left = re.sub(r"[^\w@$]|_", "", told)
    rows = [row for run in RUNS for row in (run, run[::-1])]
    for row in rows:
        for length in range(len(row), 3, -1):
            for start in range(len(row) - length + 1):
                left = left.replace(row[start : start + length], "")
    left = left.translate(INSTEAD)
    known = {word.translate(INSTEAD) for word in (*COMMON, *known_as(name).split())}
    for word in sorted(known, key=len, reverse=True):
        left = left.replace(word, "")
    return re.sub(r"(.)\1+", r"\1", left)


def _hashed(shop: Shop, phrase: str, name: str) -> str:
    why = weakness(phrase, name)
    if why is not None:
        raise RecordError(f"that pass phrase is too weak: {why}", remedy="nothing was changed; take another")
    return shop.phrases.hashed(normal(phrase))
