"""Which event of the tree a picture is dated by when somebody says "before Ada was born" (`life_phrases`)."""

from __future__ import annotations

import re
from collections.abc import Collection
from dataclasses import dataclass, field

from sqlalchemy import Connection, or_, select

from kinphoto.archive.catalogue.by_kinship import by_kinship
from kinphoto.archive.catalogue.codes import row_of
from kinphoto.archive.catalogue.finding_events import find_event
from kinphoto.archive.catalogue.finding_people import find_person, relatives_called, several_people
from kinphoto.archive.catalogue.folding import fold
from kinphoto.archive.catalogue.identity import read_identity
from kinphoto.archive.catalogue.life_phrases import LifePhrase, read_life_phrase
from kinphoto.archive.catalogue.unborn import in_the_picture
from kinphoto.archive.catalogue.vocabulary import OF_COUPLES
from kinphoto.errors import AmbiguousError, InvalidValueError, NotFoundError
from kinphoto.reason.model.evidence import LIFE_TAGS, LifeEvent
from kinphoto.reason.model.span import Span
from kinphoto.store import tables as t
from kinphoto.store.among import among

_I = frozenset({"i", "me", "my", "myself"})
_ONE = {"she": "F", "her": "F", "ihr": "F", "he": "M", "him": "M", "his": "M"}
_TWO = frozenset({"they", "their", "ihr"})
"""A couple, where it is about a wedding; "ihr" is also "her"."""
_SEVERAL = frozenset({"we", "us", "our", "they", "them", "their", "it"})
_AND = re.compile(r"\s+and\s+|\s*&\s*")
_LIVES = {"born": LIFE_TAGS[LifeEvent.BIRTH], "died": LIFE_TAGS[LifeEvent.DEATH]}


@dataclass(frozen=True, slots=True)
class ByEvent:
    """The key of an event (`I12:BIRT`), and how many days after it a picture was taken."""

    event: str
    lapse: Span


@dataclass(frozen=True, slots=True)
class Company:
    """Whom words can mean without a name (row ids): the `speaker` by "I" and "my", the `pictured` by "she" and "he"; by
    "they" a couple of these, or the family whose day the picture `shows`."""

    speaker: int | None = None
    pictured: Collection[int] = ()
    shows: Collection[int] = ()


@dataclass(frozen=True, slots=True)
class _Couple:
    """A family by its row id and code, and the row ids of its partners."""

    id: int
    code: str
    partners: set[int] = field(default_factory=set)


def company_of(connection: Connection, photograph_id: int, by: str | None = None) -> Company:
    """For what `by` says about a photograph: who that is, where it is known, and who is named in it."""
    i, a = t.informant.c, t.appearance.c
    tellers = connection.execute(select(i.name, i.person_id).where(i.person_id.is_not(None))).all()
    speaker = next((row.person_id for row in tellers if fold(row.name) == fold(by or "")), None)
    identity = read_identity(connection)
    seen = connection.execute(
        select(a.role, a.denied, a.person_id).where(a.photograph_id == photograph_id, a.withdrawn == 0)
    )
    pictured = {identity.of(row.person_id) for row in seen if in_the_picture(*row)}
    s, f = t.statement.c, t.family.c
    events = select(s.value).where(s.photograph_id == photograph_id, s.kind == "event", s.withdrawn == 0)
    codes = {key.partition(":")[0] for key in connection.scalars(events)}
    shows = connection.scalars(select(f.id).where(f.code.in_(codes))).all() if codes else ()
    return Company(speaker, pictured, shows)


def by_life(connection: Connection, text: str, company: Company) -> ByEvent | None:
    """The event that dates a picture, and the time since it; None for words that are not about a life.

    Raises NotFoundError for somebody or an event that is not in the tree, AmbiguousError for namesakes, and
    InvalidValueError where it is not clear who "she" or "I" is.
    """
    phrase = read_life_phrase(text)
    if phrase is None:
        return None
    try:
        return _found(connection, phrase, phrase.who, company)
    except NotFoundError:
        if not phrase.who.endswith("s"):
            raise
        try:  # whose, without an apostrophe
            return _found(connection, phrase, phrase.who[:-1], company)
        except NotFoundError:
            pass
        raise


def _found(connection: Connection, phrase: LifePhrase, who: str, company: Company) -> ByEvent:
    if phrase.what in _LIVES:
        return ByEvent(f"{_one(connection, who, company)}:{_LIVES[phrase.what]}", phrase.lapse)
    if phrase.what in OF_COUPLES and who.casefold() in _TWO and (family := _couple(connection, who, company)):
        return ByEvent(find_event(connection, f"{phrase.what} of {family}"), phrase.lapse)
    meant = " and ".join(_of_couple(connection, one, company) for one in _AND.split(who))
    return ByEvent(find_event(connection, f"{phrase.what} of {meant}"), phrase.lapse)


def _one(connection: Connection, who: str, company: Company) -> str:
    """The code of the one who is meant."""
    found = _codes(connection, who, company)
    if len(found) > 1:
        raise InvalidValueError(f"“{who}” are {len(found)} people", remedy="Say the name of one.")
    return found[0]


def _of_couple(connection: Connection, who: str, company: Company) -> str:
    """The codes of the people that words mean; a name that several people have stays as it is, since the other of the
    couple may decide it."""
    try:
        return " and ".join(_codes(connection, who, company))
    except AmbiguousError:
        return who


def _codes(connection: Connection, who: str, company: Company) -> list[str]:
    """The codes of the people that a name or other words mean: one person, or two parents."""
    word = who.casefold()
    if word in _I:
        return [_code(connection, _speaker(who, company))]
    if word in _ONE:
        return [_code(connection, _pictured(connection, who, _ONE[word], company))]
    if word in _SEVERAL:
        raise InvalidValueError(f"it is not clear who “{who}” are", remedy="Say the names.")
    try:
        return [find_person(connection, who)["code"]]
    except NotFoundError:
        relatives = _relatives(connection, who, company)
        if relatives is None:
            raise
        return relatives


def _couple(connection: Connection, who: str, company: Company) -> str | None:
    """The code of the one couple that words like "they" mean; None where "ihr" means "her"."""
    found = _meant(_couples(connection, company), company)
    if len(found) == 1:
        return found[0].code
    if not found and who.casefold() in _ONE:
        return None
    why = "no couple is named in the picture" if not found else f"it could be any of {len(found)} couples in it"
    raise InvalidValueError(f"it is not clear who “{who}” are: {why}", remedy="Say the names.")


def _meant(couples: Collection[_Couple], company: Company) -> list[_Couple]:
    """The couples whose day the picture shows, else those with both partners in it."""
    shown = [couple for couple in couples if couple.id in company.shows]
    pictured = set(company.pictured)
    return shown or [couple for couple in couples if len(couple.partners) > 1 and couple.partners <= pictured]


def _couples(connection: Connection, company: Company) -> list[_Couple]:
    """The couples that the picture shows or that have a partner in it; none that the tree or a person has given up."""
    identity, m, f = read_identity(connection), t.partner.c, t.family.c
    theirs = select(m.family_id).where(among(connection, m.person_id, identity.names(company.pictured)))
    partners = select(f.id, f.code, m.person_id).join(t.partner, m.family_id == f.id)
    here = or_(f.id.in_(theirs), among(connection, f.id, company.shows))
    found: dict[int, _Couple] = {}
    for id_, code, person in connection.execute(partners.where(here, f.gone == 0, f.withdrawn == 0)):
        found.setdefault(id_, _Couple(id_, code)).partners.add(identity.of(person))
    return list(found.values())


def _relatives(connection: Connection, who: str, company: Company) -> list[str] | None:
    """The codes of "my father", "Ada's parents"; None for other words. "My" is said by who speaks, whoever asks."""
    named = relatives_called(connection, who)
    if named is None:
        return None
    mine = by_kinship(connection, who, lambda name: ())
    if mine is not None:  # nobody is named
        speaker = _speaker(who, company)
        named = by_kinship(connection, f"x's {_without_my(who)}", lambda name: (speaker,))
    if named is None or not named.people:
        raise NotFoundError(f"the tree has nobody who is “{who}”", remedy="Say the name.")
    if len(named.people) > 2 or (len(named.people) == 2 and "parents" not in who.casefold()):
        raise several_people(connection, f"{len(named.people)} people are “{who}”", named.people)
    return [_code(connection, one) for one in named.people]


def _without_my(who: str) -> str:
    return re.sub(r"^(?:my|our)\s+", "", who, flags=re.IGNORECASE)


def _speaker(who: str, company: Company) -> int:
    if company.speaker is None:
        raise InvalidValueError(
            f"it is not clear who says “{who}”",
            remedy="Say the name; or whose words these are, and who that is: kinphoto informant NAME --person PERSON.",
        )
    return company.speaker


def _pictured(connection: Connection, who: str, sex: str, company: Company) -> int:
    p = t.person.c
    query = select(p.id).where(among(connection, p.id, company.pictured), p.sex.in_((sex, "U")))
    found = sorted(connection.scalars(query)) if company.pictured else []
    if len(found) != 1:
        why = "nobody it could be is named in the picture" if not found else f"it could be any of {len(found)} in it"
        raise InvalidValueError(f"it is not clear who “{who}” is: {why}", remedy="Say the name.")
    return int(found[0])


def _code(connection: Connection, person: int) -> str:
    return str(row_of(connection, t.person, person)["code"])
