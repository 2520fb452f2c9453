"""A whole calculation in one sentence, or in one line, as a person would pass it on."""

from __future__ import annotations

import math

from phases.kit.bounds import FAIL, MARGINAL, NOT_APPLICABLE, PASS, VERDICTS
from phases.kit.frame import CORNERS, TYPICAL
from phases.kit.grammar import listed
from phases.kit.inputs import Given
from phases.kit.judging import Judgement, Verdict, figures_of
from phases.kit.say import show
from phases.kit.sentences import margin_words, verdict_sentence


def headline(judgement: Judgement) -> str:
    """Whether everything holds, with the limit that decides it."""
    verdict = judgement.verdict
    deciding = [one for one in judgement.verdicts if one.verdict == verdict]
    deciding.sort(key=lambda one: -math.inf if math.isnan(one.share) else one.share)
    if verdict == NOT_APPLICABLE:
        return "No limits to check."
    if verdict == PASS:
        numbers = [one for one in deciding if math.isfinite(one.margin)]
        least = [f"; tightest margin: {limit_named(n)}, {margin_words(n)}" for n in numbers[:1]]
        return f"Passes{''.join(least)}."
    word = "Fails" if verdict == FAIL else "Marginal"
    more = f" And {len(deciding) - 1} more." if len(deciding) > 1 else ""
    return f"{word}: {verdict_sentence(deciding[0])}{more}"


def limit_named(verdict: Verdict) -> str:
    """A limit in the middle of a sentence."""
    title = verdict.title
    if title[:1].isupper() and title[1:2].islower():
        title = title[0].lower() + title[1:]
    return f"{title} ({verdict.scenario})" if verdict.scenario else title


def what_to_draw(judgement: Judgement) -> str:
    """What to draw and that it passes; where it does not, or draws nothing, the tightest limit."""
    ailing = [v for v in judgement.verdicts if v.verdict in (FAIL, MARGINAL)]
    if ailing:
        return verdict_sentence(max(ailing, key=lambda v: VERDICTS.index(v.verdict)))
    if judgement.parts:
        return f"Passes with {listed([part.words for part in judgement.parts], 2)}"
    numbers = [v for v in judgement.verdicts if not math.isnan(v.margin)]
    if not numbers:
        return "All limits pass"
    return verdict_sentence(min(numbers, key=lambda v: v.share))


def short_answer(judgement: Judgement) -> str:
    """Picks or first outputs, and the verdict: "620 Ω ± 5 %  1.94 mA  pass"."""
    words, verdict = list(judgement.picks.values()), judgement.verdict
    words += _figures_of_picks(judgement) if words else _first_figures(judgement)
    if verdict in (FAIL, MARGINAL):
        sentence = headline(judgement)
        verdict = sentence[0].lower() + sentence[1:]
    return "  ".join((*words, verdict))


def _first_figures(judgement: Judgement) -> list[str]:
    plain = [out for out in judgement.outputs if out.along is None][:2]
    return [f"{out.title} {show(out.figures[0].typ, out.unit)}" for out in plain]


def _figures_of_picks(judgement: Judgement) -> list[str]:
    """The first output that depends on what was picked: unknown while the pick is blank."""
    bare = judgement.calculation.with_given({name: Given("") for name in judgement.picks})
    typical, corners = bare.under(TYPICAL), bare.under(CORNERS)
    for out in judgement.outputs:
        typ, declared = out.figures[0].typ, type(bare).outputs[out.name]
        if out.along is not None or math.isnan(typ):
            continue
        if math.isnan(figures_of(declared, typical, corners)[0].typ):
            return [show(typ, out.unit)]
    return []
