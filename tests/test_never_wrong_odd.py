"""Five hundred random builds of odd seeds, judged by the check and by exact solids."""

from __future__ import annotations

import pytest

from tests.never_wrong import assert_never_wrong, run


@pytest.mark.slow
def test_five_hundred_random_builds() -> None:
    assert_never_wrong(list(run(range(1001, 2000, 2), workers=1)))
