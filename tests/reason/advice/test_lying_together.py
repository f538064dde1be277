"""What an answer about one photograph tells about the others in its container."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from scipy.stats import norm

from kinphoto.reason.advice.lying_together import LyingTogether
from kinphoto.reason.advice.question import Context, Question, QuestionKind, questions
from kinphoto.reason.dating import Inference
from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.containers import NEW_OCCASION, OCCASION, STRAY, WIDTHS
from kinphoto.reason.model.span import Dated, Shape, span_of_years
from kinphoto.reason.model.subjects import Container, Person, Photograph
from kinphoto.reason.soft import joint_years

INDEXED = date(2000, 1, 1).toordinal()


def about(year: int, spread: float) -> Dated:
    """Some year, so many years more or less."""
    return Dated(span_of_years(year - 40, year + 40), Shape.ABOUT, date(year, 7, 1).toordinal(), spread * 365.25)


def album(middles: list[int], *, spread: float = 8.0, box: str | None = "B1") -> ev.Evidence:
    """Photographs of about these years, all in one album, or loose."""
    return ev.Evidence(
        (),
        tuple(Photograph(f"K{i}", INDEXED, container=box, position=i) for i in range(len(middles))),
        tuple(
            ev.DateClaim(
                id=f"S{i}", trust=ev.Trust.CERTAIN, photograph=f"K{i}", claim=ev.Claim.WRITTEN, date=about(year, spread)
            )
            for i, year in enumerate(middles)
        ),
        (Container("B1"),),
    )  # fmt: skip


def dates(evidence: ev.Evidence) -> dict[str, Question]:
    """The questions after dates, by photograph."""
    names = [p.id for p in evidence.photographs]
    found = questions(evidence, names, Context(boxes={p.id: p.container for p in evidence.photographs if p.container}))
    return {q.photographs[0]: q for q in found if q.kind is QuestionKind.DATE}


def test_an_answer_tells_about_its_theme() -> None:
    """Of eight pictures named harbour and eight named picnic in a folder, a date of one of the harbour tells about the
    seven others of the harbour; where nobody looks at names, about all fifteen."""
    middles = [*[1930] * 8, *[1931] * 8]
    folder = album(middles)
    named = tuple(replace(p, theme="harbour" if p.position < 8 else "picnic") for p in folder.photographs)
    assert dates(replace(folder, photographs=named))["K0"].lying_with == 7
    assert dates(folder)["K0"].lying_with == 15


def test_a_date_of_a_frame_is_worth_more_than_a_loose_one() -> None:
    """On a strip of six the answer narrows the other frames too, and says so; the album does not count them again."""
    for box in (None, "B1"):
        evidence = album([1930] * 8, box=box)
        ties = tuple(
            ev.Relation(id=f"T{i}", trust=ev.Trust.CERTAIN, photograph="K0", related=ev.Related.SAME_STRIP,
                        other=f"K{i}")
            for i in range(1, 6)
        )  # fmt: skip
        found = dates(replace(evidence, statements=(*evidence.statements, *ties)))
        assert found["K0"].lying_with == (5 if box is None else 7)
        assert found["K6"].lying_with == (0 if box is None else 7)
        assert found["K0"].bits > 1.2 * found["K6"].bits


def test_a_date_in_an_album_is_worth_more_than_a_loose_one() -> None:
    """In an album of twelve the answer narrows the others too, and says so, though its range is shorter there."""
    together, loose = album([1930] * 12), album([1930] * 12, box=None)
    mixed = replace(
        together,
        photographs=(*together.photographs, replace(together.photographs[0], id="L", container=None)),
        statements=(*together.statements, *(replace(s, id="SL", photograph="L") for s in together.statements[:1])),
    )  # fmt: skip
    found = dates(mixed)
    assert found["K0"].bits > 1.2 * found["L"].bits
    assert (found["K0"].lying_with, found["L"].lying_with) == (11, 0)
    assert all(q.lying_with == 0 for q in dates(loose).values())


def test_where_everything_is_dated_nothing_more_is_told() -> None:
    """The others of the album have their year: an answer about the last tells of that one alone."""
    evidence = album([1930] * 12)
    when = Dated(span_of_years(1930, 1930))
    known = tuple(replace(s, claim=ev.Claim.TAKEN, date=when) for s in evidence.statements[1:])
    found = dates(replace(evidence, statements=(*evidence.statements[:1], *known)))
    assert found["K0"].lying_with == 0


def test_the_bits_are_those_of_the_joint_distribution() -> None:
    """Two photographs of an album of three: the information that a year said of one gives about the other, against the
    joint distribution of the container's centre and width and both years, which may be one, written out on
    quarter-years with scipy's normal distribution, which is flat within cells about one width long (docs/method.md).
    (For P(t) the program's own is taken: how containers are dated is tested elsewhere.)"""
    evidence = album([1925, 1933, 1928])
    inference = Inference(evidence)
    names = ["K0", "K1", "K2"]
    dated = inference.dated_exposures(names)
    exposures = [joint_years.of_posterior(o.posterior) for o in dated.values() if o.posterior is not None]
    lying = LyingTogether(inference, names, exposures, [True] * 3)
    heard = inference.beliefs.incoming
    assert heard is not None
    assert heard.boxes is not None
    cells, first = heard.steps.shape[1], heard.first
    bells = []
    for s in WIDTHS:
        long = max(1, round(4 * s))
        edges = np.arange(0, cells + long, long)
        share = np.diff(norm.cdf((edges - (edges[:-1, None] + long / 2)) / (4 * s)), axis=1)
        bells.append(np.repeat(share, long, axis=1)[:, :cells])
    width = np.concatenate([np.full(len(bell), s) for bell, s in zip(bells, WIDTHS, strict=True)])
    bell = np.concatenate(bells)
    bell /= bell.sum(axis=1, keepdims=True)
    density = (1 - STRAY) * bell + STRAY * heard.boxes.rate[1]
    year = (first + np.arange(cells)) // 4 + 1500
    log = heard.boxes.log[1].astype(float)
    odds = np.exp(log - log.max()) / np.exp(log - log.max()).sum()

    def joint(i: int) -> np.ndarray:
        """P(t, x) on the years of one exposure."""
        at = exposures[i].at + joint_years.FIRST
        of = np.stack([density[:, year == y].sum(axis=1) for y in at], axis=1)
        told = np.array([heard.message(i)[year == y].sum() for y in at])
        both = of * exposures[i].chance / told
        return both * (odds / both.sum(axis=1))[:, None]

    one, other = joint(0), joint(1)
    at = exposures[0].at
    answers = norm.pdf(at[:, None], at[None, :], 2.5)
    answers /= answers.sum(axis=1, keepdims=True)
    overall = one.sum(axis=0) @ answers
    left = one.sum(axis=0)[:, None] * answers / overall
    variance = float(sum(overall[a] * (at**2 @ left[:, a] - (at @ left[:, a]) ** 2) for a in range(len(at))))
    weight = 1 / (1 + (OCCASION - 1) * float(odds @ (width**2 / (width**2 + variance))))
    by_point = (one / odds[:, None]) @ answers
    told = overall * (by_point / overall) ** weight
    told /= told.sum(axis=1, keepdims=True)
    both = other.T @ told  # P(x, answer), and of one occasion besides
    same = 1 / (NEW_OCCASION + 2)
    both *= 1 - same
    for x, year_of_other in enumerate(exposures[1].at):
        for i in np.flatnonzero(at == year_of_other):
            together = (
                other[:, x] * one[:, i] / odds / density[:, year == year_of_other + joint_years.FIRST].sum(axis=1)
            )
            both[x] += same * together.sum() * answers[i]
    both *= (other.sum(axis=0) / both.sum(axis=1))[:, None]
    plain = float((both * np.log2(both / both.sum(axis=0) / both.sum(axis=1, keepdims=True))).sum())
    bits, others = lying.information(0, answers, [1])
    assert plain > 0.02
    assert bits == pytest.approx(plain, rel=0.03)
    assert others == 1


def test_those_who_share_a_vague_birth_are_counted_once() -> None:
    """Of pictures of one child of vague birth, an answer tells by the birth; that they lie together adds nothing, but
    leaves less to be told, as each is dated closer."""
    evidence = album([1930] * 4)
    child = (
        ev.LifeDate(
            id="E", trust=ev.Trust.STRONG, person="I", event=ev.LifeEvent.BIRTH, date=Dated(span_of_years(1910, 1930))
        ),
        *(ev.Appearance(id=f"A{i}", trust=ev.Trust.STRONG, photograph=f"K{i}", person="I") for i in range(4)),
    )
    of_one = replace(evidence, people=(Person("I", "Ada"),), statements=(*evidence.statements, *child))
    assert all(q.lying_with == 0 for q in dates(of_one).values())
    loose = replace(of_one, photographs=album([1930] * 4, box=None).photographs)
    assert 0 < dates(of_one)["K0"].bits < 1.02 * dates(loose)["K0"].bits
