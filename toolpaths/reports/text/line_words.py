"""What a person is told of lines and of the bits that cut them: which way, what that costs, what the bit bears."""

from __future__ import annotations

from collections.abc import Iterator

from toolpaths.verification.outcome import FeatureReport, SetupReport


def line_words(setup: SetupReport) -> Iterator[str]:
    """Sentences about a setup's lines and its thin bits, each once."""
    for feature in setup.features:
        if (cost := feature.one_way_minutes) is not None and cost >= 0.05:
            yield (f"{feature.name} is cut one way, which takes {cost:.1f} min more than both ways: {_why(feature)}.")
        if feature.cutting.safety is not None:
            yield (
                f"{feature.bit} in {feature.name} would break at {times(feature.cutting.safety)} the load expected "
                "(bending at the root of its flutes, an estimate)."
            )


def times(safety: float) -> str:
    """A reserve as a factor, in words: no more digits than an estimate has."""
    return f"about {safety:.0f} times" if safety >= 2 else f"about {safety:.1f} times"


def _why(feature: FeatureReport) -> str:
    if feature.cutting.limits.get("direction") == "job":
        return "the job asks for it"
    why = feature.cutting.reasons["direction"]
    return f"{why} (measure it with a dial indicator; the machine file takes it as measured.backlash)"
