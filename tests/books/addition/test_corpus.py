"""Other projects' workbooks: a column added to each, everything else as it was, and none broken."""

import random
from pathlib import Path

import pytest

from tests.books.addition import corpus
from tests.office import Office, OfficeError

SAMPLE, SEED = 60, 4
LEAST = 100  # workbooks that the pinned distributions hold between them


@pytest.fixture(scope="module")
def outcomes(request: pytest.FixtureRequest) -> list[corpus.Outcome]:
    folder = Path(request.config.cache.mkdir("workbooks-of-others"))  # type: ignore[union-attr]
    return [corpus.add_to(path) for path in corpus.fetch(folder)]


def test_none_is_broken(outcomes: list[corpus.Outcome], capsys: pytest.CaptureFixture[str]) -> None:
    with capsys.disabled():
        print("\n" + corpus.tally(outcomes))
    assert len(outcomes) >= LEAST
    assert not [outcome.path for outcome in outcomes if outcome.faults]
    assert sum(outcome.edited is not None for outcome in outcomes) > LEAST // 2


def test_a_sample_opens_and_shows_the_column(outcomes: list[corpus.Outcome], tmp_path: Path, office: Office) -> None:
    edited = [outcome for outcome in outcomes if outcome.edited]
    for outcome in random.Random(SEED).sample(edited, min(SAMPLE, len(edited))):
        made = tmp_path / f"edited{outcome.path.suffix.lower()}"
        made.write_bytes(outcome.edited or b"")
        try:
            shown = office.read(made)
        except OfficeError:
            with pytest.raises(OfficeError):  # then the file as it was must not open either
                office.read(outcome.path)
            continue
        assert shown[outcome.sheet][outcome.address] == corpus.HEADER, outcome.path
