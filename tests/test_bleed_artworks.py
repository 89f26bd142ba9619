"""Whole artworks that cross the cut: silent with 3 mm of bleed, called where they are cut off before.

In a longer count of 145 such artworks, each with three seeds, 15 of 435 were called with all their bleed (54 of 145
before ends were told from edges of shapes), and none of 870 went unseen that were cut off at 0, 1 and 1.5 mm. With
seeds that nothing was fitted to, 14 of 135 were called: the artworks are denser than what customers send. What is still
called is a straight side of a shape that lies along the cut by chance. The rule takes 0.90 s on a 24-up sheet (0.77 s
before).
"""

import pytest

from preflight.judging.judge import judge
from tests.bleed_artworks import artworks
from tests.house import SIX_UNITS, job_of, rulebook

ARTWORKS = list(artworks())
SHORT_MM = (0.0, 1.0, 1.5)


def found(artwork, past_mm, folder):
    job = job_of(artwork.carried(past_mm), folder, {"artwork_is": "one-up"}, SIX_UNITS)
    judgement = judge(job, rulebook(), only={"bleed-short"})
    assert not [item for item in judgement.not_checked if item.own_fault]
    return judgement.findings


@pytest.mark.parametrize("artwork", ARTWORKS, ids=str)
def test_artwork_with_its_bleed_is_silent(artwork, tmp_path):
    assert found(artwork, 3.0, tmp_path) == ()


@pytest.mark.parametrize(("number", "artwork"), list(enumerate(ARTWORKS)), ids=str)
def test_artwork_that_is_cut_off_is_called(number, artwork, tmp_path):
    past_mm = SHORT_MM[number % 3]
    worst = found(artwork, past_mm, tmp_path)[0]
    assert worst.verdict.word == "fail"
    assert abs(worst.measured[0] - past_mm) < 0.2 or worst.measured[0] < past_mm
