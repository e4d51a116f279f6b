"""The bits of a first job."""

from __future__ import annotations

from toolpaths.reports.reference.first_answers import Answers


def test_the_rod_s_channel_is_cut_by_the_widest_bit_that_goes_in() -> None:
    # Channels are 0.05 mm wider than the rod (common practice, no source): 6.40 mm for one of 6.35 (1/4 in, from
    # memory), 5.05 for a bent one of 5.
    assert "quarter" == Answers(part="neck").rod_bit
    assert "eighth" == Answers(part="neck", rod="single bent").rod_bit
    assert "eighth" == Answers(part="neck", outline="ball").rod_bit
    assert "eighth" == Answers(part="neck", rod="none").rod_bit
    # A planing bit is wider than any channel.
    assert "eighth" == Answers(part="neck", outline="planer").rod_bit
