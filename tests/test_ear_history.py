"""What was answered by ear: its sums, its file, its table, and that it stays small and is never lost."""

from __future__ import annotations

import csv
import errno
import json
import os
import subprocess
import sys
from collections.abc import Callable, Iterator
from datetime import datetime, timedelta, timezone
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tunelib.hearing import BayesRule
from tunelib.practice import own_file
from tunelib.practice.ear_file import EAR_FILE, ear_history, keep_answer, write_ear_csv
from tunelib.practice.ear_history import IN_FULL, Answered, EarHistory, Item

START = datetime(2026, 1, 1, 18, 30, tzinfo=timezone(timedelta(hours=10)))
THIRD, PURE, SUNG = Item("third", "neutral"), Item("pure", "5/4"), Item("sing", "10")


@pytest.fixture(autouse=True)
def file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """The place of a file that is not there yet, in a folder that is not there either."""
    monkeypatch.setenv("TUNELIB_DATA", str(tmp_path / "data"))
    EAR_FILE.__init__()
    yield tmp_path / "data" / "ear.json"
    EAR_FILE.__init__()


def years_of(days: int, each_day: int, seed: int = 1) -> EarHistory:
    """So many answers a day, of thirty items in three registers."""
    dice = np.random.default_rng(seed)
    history = EarHistory()
    for day in range(days):
        for place in range(each_day):
            moment = START + timedelta(days=day, seconds=12 * place)
            kind, number = ("third", "pure", "sing")[int(dice.integers(3))], int(dice.integers(10))
            cents = {"third": None, "pure": float(dice.uniform(2, 30)), "sing": float(dice.normal(3, 8))}[kind]
            register = ("low", "middle", "high")[int(dice.integers(3))]
            right = bool(dice.random() < 0.8)
            answer = Answered(Item(kind, str(number)), moment, right, "", cents, register, kind == "sing")
            history = history.adding(answer)
    return history


def test_an_answer_is_kept_and_read_again(file: Path) -> None:
    assert not file.exists() and ear_history() == EarHistory()
    given_in = Answered(THIRD, START, False, "minor", None, "high")
    sung = Answered(SUNG, START + timedelta(seconds=9), True, cents=-4.25, sung=True)
    keep_answer(sung, pytest.fail)
    keep_answer(given_in, pytest.fail)
    EAR_FILE.__init__()
    assert ear_history().answers == (given_in, sung), "in the order of their moments"
    kept = json.loads(file.read_text(encoding="utf-8"))
    assert kept["format"] == 1 and sorted(kept) == ["answers", "format", "months", "thresholds"]
    assert kept["answers"][0] == ["third:neutral", "2026-01-01T18:30:00+10:00", False, "minor", None, "high", False]


def test_a_day_is_the_learners_own() -> None:
    early = datetime(2026, 5, 4, 7, 0, tzinfo=timezone(timedelta(hours=10)))
    assert Answered(THIRD, early, True).day == "2026-05-04" != early.astimezone(timezone.utc).date().isoformat()


def test_two_notebooks_at_once_lose_nothing(file: Path) -> None:
    keep_answer(Answered(THIRD, START, True), pytest.fail)
    other = (
        "from datetime import datetime\nfrom tunelib.practice.ear_file import keep_answer\n"
        "from tunelib.practice.ear_history import Answered, Item\n"
        "keep_answer(Answered(Item('pure', '3/2'), datetime.fromisoformat('2026-01-02T10:00:00+00:00'), True), print)"
    )
    subprocess.run([sys.executable, "-c", other], check=True, timeout=60)
    keep_answer(Answered(PURE, START + timedelta(hours=1), False), pytest.fail)
    assert [str(one.item) for one in ear_history().answers] == ["third:neutral", "pure:5/4", "pure:3/2"]


ROW = ["third:neutral", "2026-05-03T18:20:11+02:00", True, "", None, "middle", False]
MONTH = ["third:neutral", "middle", False, "2026-01", 57, 46, 12, 9.6, "2026-01-30T17:02:40+01:00", None, None]


def written(answers: Any = (), months: Any = (), thresholds: Any = (), form: Any = 1) -> bytes:
    return json.dumps({"format": form, "answers": answers, "months": months, "thresholds": thresholds}).encode()


def changed(row: list[Any], place: int, value: Any) -> list[Any]:
    return [*row[:place], value, *row[place + 1 :]]


DAMAGED = {
    "half": written([ROW])[:60],
    "no months": b'{"format": 1, "answers": [], "thresholds": []}',
    "a word for answers": written("answers"),
    "a short row": written([ROW[:5]]),
    "a long row": written([[*ROW, 1]]),
    "no item": written([changed(ROW, 0, "neutral")]),
    "no moment": written([changed(ROW, 1, "yesterday")]),
    "a moment without a zone": written([changed(ROW, 1, "2026-05-03T18:20:11")]),
    "a moment before all time": written([changed(ROW, 1, "0001-01-01T00:00:00+14:00")]),
    "right in words": written([changed(ROW, 2, "true")]),
    "a long answer": written([changed(ROW, 3, "x" * 41)]),
    "no number": written([changed(ROW, 4, "1")]),
    "a difference below none": written([changed(ROW, 4, -1)]),
    "infinite": written([changed(ROW, 4, 1)]).replace(b", 1, ", b", 1e999, "),
    "more right than answers": written(months=[changed(MONTH, 5, 58)]),
    "no month": written(months=[changed(MONTH, 3, "2026-13")]),
    "a bias alone": written(months=[changed(MONTH, 9, 3.0)]),
    "a share above its days": written(months=[changed(MONTH, 7, 12.5)]),
    "no threshold": written(thresholds=[["pure", "middle", "2026-01", 210, 0, 1.1]]),
    "a spread of one": written(thresholds=[["pure", "middle", "2026-01", 210, 7, 1]]),
}


@pytest.mark.parametrize("what", DAMAGED)
def test_a_damaged_file_is_put_aside_whole_and_practice_goes_on(file: Path, what: str) -> None:
    file.parent.mkdir()
    file.write_bytes(DAMAGED[what])
    assert ear_history() == EarHistory() and "could not be understood" in EAR_FILE.standing()[0]
    told: list[str] = []
    keep_answer(Answered(THIRD, START, True), told.append)
    assert "Your practice file could not be understood" in told[0] and "ear-damaged-1.json" in told[0]
    assert (file.parent / "ear-damaged-1.json").read_bytes() == DAMAGED[what]
    assert len(ear_history().answers) == 1


def test_what_is_damaged_above_would_be_understood_otherwise(file: Path) -> None:
    file.parent.mkdir()
    file.write_bytes(written([ROW], [MONTH], [["pure", "middle", "2026-01", 210, 7.2, 1.1]]))
    kept = ear_history()
    assert len(kept.answers) == len(kept.months) == len(kept.thresholds) == 1
    assert kept.months[0].right == 46 and kept.thresholds[0].threshold == 7.2


def test_a_file_of_a_newer_format_is_left_alone_and_the_learner_told_once(file: Path) -> None:
    file.parent.mkdir()
    newer = written(form=2)
    file.write_bytes(newer)
    told: list[str] = []
    for _ in range(2):
        keep_answer(Answered(THIRD, START, True), told.append)
    assert len(told) == 1 and "newer version of these lessons" in told[0] and file.read_bytes() == newer


def test_where_nothing_can_be_written_answers_are_held_and_kept_later(
    file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def no_room(path: Path, data: bytes, overwrite: bool = False) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC), str(path))

    told: list[str] = []
    with monkeypatch.context() as full:
        full.setattr(own_file, "write_whole", no_room)
        for hour in range(3):
            keep_answer(Answered(THIRD, START + timedelta(hours=hour), True), told.append)
        assert len(told) == 1 and "Your practice is not being kept" in told[0] and str(file) in told[0]
        assert len(ear_history().answers) == 3 and not file.exists()
    keep_answer(Answered(THIRD, START + timedelta(hours=4), True), pytest.fail)
    EAR_FILE.__init__()
    assert len(ear_history().answers) == 4


def test_forgetting_puts_the_file_aside(file: Path) -> None:
    keep_answer(Answered(THIRD, START, True), pytest.fail)
    before = file.read_bytes()
    aside = EAR_FILE.forget()
    assert aside == file.with_name("ear-before-1.json") and aside.read_bytes() == before
    assert ear_history() == EarHistory() and EAR_FILE.forget() is None


def test_older_answers_become_sums_from_which_nothing_of_the_curves_is_lost() -> None:
    """Counts, shares, mean errors and their spread, worked out here from all answers one by one."""
    kept, every = EarHistory(), []
    dice = np.random.default_rng(3)
    for number in range(IN_FULL + 900):
        moment = START + timedelta(hours=0.4 * number)
        one = Answered(SUNG, moment, bool(dice.random() < 0.7), "", float(dice.normal(5, 9)), "low", True)
        every.append(one)
        kept = kept.adding(one)
    assert IN_FULL / 2 - 100 < len(kept.answers) <= IN_FULL and kept.answers == tuple(every[-len(kept.answers) :])
    old = every[: -len(kept.answers)]
    assert old[-1].day < kept.answers[0].day, "no day is divided"
    assert [month.month for month in kept.months] == sorted({one.day[:7] for one in old})
    for month in kept.months:
        these = [one for one in old if one.day[:7] == month.month]
        errors = [one.cents for one in these]
        days = {one.day for one in these}
        rights = [[one.right for one in these if one.day == day] for day in days]
        shares = [(day[0] + np.mean(day)) / 2 for day in rights]
        assert (month.answers, month.right) == (len(these), sum(one.right for one in these))
        assert (month.days, month.share) == pytest.approx((len(days), sum(shares)), abs=1e-3)
        assert month.last == these[-1].moment
        assert (month.bias, month.spread) == pytest.approx((np.mean(errors), np.std(errors)), abs=1e-3)


def test_a_threshold_outlives_the_answers_that_told_of_it() -> None:
    """A listener of 8 cents, heard at differences around it for a year: each month's threshold is within a quarter."""
    rule, dice, kept = BayesRule(), np.random.default_rng(4), EarHistory()
    for number in range(IN_FULL * 2):
        difference = float(dice.uniform(4, 25))
        moment = START + timedelta(hours=number)
        kept = kept.adding(Answered(PURE, moment, bool(dice.random() < rule.right(difference, 8.0)), "", difference))
    assert len(kept.thresholds) >= 5
    for month in kept.thresholds:
        assert 8 / 1.25 < month.threshold < 8 * 1.25 and 1 < month.spread < 1.2


def test_practice_for_years_stays_small() -> None:
    """Forty answers a day to thirty items in three registers: no answer is uncounted, and a year is a sixth of a
    megabyte."""
    one, two = years_of(365, 40), years_of(730, 40)
    sizes = [len(EAR_FILE.text(kept)) for kept in (one, two)]
    assert sizes[0] < 600_000 and sizes[1] - sizes[0] < 180_000
    assert sum(month.answers for month in two.months) + len(two.answers) == 730 * 40
    assert IN_FULL / 2 - 40 <= len(two.answers) <= IN_FULL
    assert EAR_FILE.understood(json.loads(EAR_FILE.text(two))) == two


def test_the_table_has_all_of_it_and_is_never_written_over_anything(tmp_path: Path) -> None:
    keep_answer(Answered(THIRD, START, False, "minor", None, "high"), pytest.fail)
    keep_answer(Answered(SUNG, START + timedelta(minutes=1), True, "", -4.256, "low", True), pytest.fail)
    path = write_ear_csv(tmp_path / "mine.csv")
    with path.open(encoding="utf-8-sig", newline="") as read:
        rows = list(csv.DictReader(read))
    assert rows[0] == {
        "when": "2026-01-01T18:30:00+10:00", "kind": "third", "what": "neutral", "register": "high", "answers": "1",
        "right": "0", "answer": "minor", "cents": "", "spread": "", "threshold": "",
    }  # fmt: skip
    assert rows[1]["cents"] == "-4.26" and rows[1]["right"] == "1"
    with pytest.raises(FileExistsError):
        write_ear_csv(path)
    assert len(path.read_text().splitlines()) == 3
    with pytest.raises(FileNotFoundError):
        write_ear_csv(tmp_path / "nowhere" / "mine.csv")


def test_the_table_of_sums_adds_up() -> None:
    kept = years_of(250, 40)
    rows = list(csv.DictReader(kept.csv().splitlines()))
    counted = sum(int(row["answers"]) for row in rows if not row["threshold"])
    assert counted == 250 * 40 and any(row["threshold"] for row in rows)
    assert {len(row) for row in rows} == {10}


@given(st.text(max_size=50), st.text(max_size=50))
def test_an_item_is_written_and_read_back_or_refused(kind: str, what: str) -> None:
    try:
        item = Item(kind, what)
    except ValueError:
        return
    assert Item.parse(str(item)) == item


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: Item("", "5/4"), "the kind of an item is 1 to 40 letters"),
        (lambda: Item("pure", "5:4"), "no colon, not '5:4'"),
        (lambda: Item.parse("pure"), "kind:what, such as third:neutral"),
        (lambda: Answered(THIRD, datetime(2026, 1, 1), True), "a moment with a time zone"),
        (lambda: Answered("third:neutral", START, True), "an answer is to an Item"),
        (lambda: Answered(THIRD, START, 1), "True or False"),
        (lambda: Answered(THIRD, START, True, cents=-1.0), "the cents of an answer are 0 to 1200, not -1.0"),
        (lambda: Answered(SUNG, START, True, cents=1201, sung=True), "-1200 to 1200, not 1201"),
        (lambda: Answered(THIRD, START, True, answer="x" * 41), "40 letters at most"),
    ],
)
def test_what_makes_no_sense_is_refused(call: Callable[[], object], said: str) -> None:
    with pytest.raises(ValueError, match=said):
        call()
