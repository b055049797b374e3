"""The order in which the bars of a page are played: repeats, endings and jumps.

Common practice, where books do not differ:

* A repeat goes back to where it was opened; failing that, to the end of the repeat before, to the coda, or to the
  beginning. The last ending of several goes on into what follows it.
* D.C. and D.S. are followed once, after the last time through their bar, to the beginning or the segno. From there on
  repeats are not played again, and of endings only the last is. Where neither *al fine* nor *al coda* is said, the way
  goes to the coda or ends at the fine, whichever comes first, or goes on past the sign that led back.
* The coda is where the way from *to coda* leads, and only that one. What is repeated in it is repeated.
"""

from __future__ import annotations

from collections.abc import Sequence

from tunelib.harmony.form import JUMPS
from tunelib.harmony.written_bars import WrittenBar

MOST_BARS = 10_000


def playing_order(bars: Sequence[WrittenBar]) -> list[int]:
    """Places of the bars, from 0, in the order in which they are played.

    Raises ValueError, naming the bar, for a repeat that is not closed, for endings that are not numbered 1, 2 and so on
    or do not close where they have to, for a jump to what is not there or that never arrives, for a bar that is never
    played, or if the whole has more than 10,000 bars.
    """
    coda, segno = _only(bars, "coda"), _only(bars, "segno")
    leaving = next((bar for bar in bars if "to coda" in bar.marks), None)
    if leaving is not None and coda is None:
        raise ValueError(f"{leaving.where}: there is no coda to go to: mark the bar where it begins")
    tail = [] if coda is None else [coda + place for place in _repeated(bars[coda:])]
    route = _repeated(bars[:coda])
    once = [*_repeated(bars[:coda], again=False)]
    once += [] if coda is None else [coda + place for place in _repeated(bars[coda:], again=False)]
    order: list[int] = []
    taken: set[int] = set()
    jump, led, at, last = "", 0, 0, _last(route)
    while at < len(route):
        place = route[at]
        order.append(place)
        if len(order) > MOST_BARS:
            raise ValueError(
                f"{bars[place].where}: with its repeats written out the tune has more than {MOST_BARS} bars"
            )
        marks = bars[place].marks
        lead = next((mark for mark in marks if mark in JUMPS), "")
        if jump and "to coda" in marks and not jump.endswith("fine"):
            route, at, jump = tail, 0, ""
            last = _last(route)
        elif jump and "fine" in marks and not jump.endswith("coda"):
            jump = ""
            break
        elif lead and place not in taken and last[place] == at:
            taken.add(place)
            back = _target(bars, place, lead, segno, once)
            route, at, jump = [*(p for p in once if back <= p <= place), *route[at + 1 :]], 0, lead
            last, led = _last(route), place
        else:
            at += 1
    if jump.endswith(("fine", "coda")):
        sign = "fine" if jump.endswith("fine") else "to coda"
        raise ValueError(
            f"{bars[led].where}: {jump}, and no {sign} comes between where it leads and here: mark its bar"
        )
    _check_played(bars, order, coda)
    return order


def _only(bars: Sequence[WrittenBar], mark: str) -> int | None:
    """The one bar that begins with a mark."""
    places = [place for place, bar in enumerate(bars) if mark in bar.marks]
    if len(places) > 1:
        raise ValueError(f"{bars[places[1]].where}: here is a second {mark}: a tune has one")
    return places[0] if places else None


def _last(route: Sequence[int]) -> dict[int, int]:
    """Where in an order each bar is played for the last time."""
    return {place: at for at, place in enumerate(route)}


def _target(bars: Sequence[WrittenBar], place: int, lead: str, segno: int | None, once: Sequence[int]) -> int:
    """The bar to which a jump leads back."""
    if place not in once:
        raise ValueError(f"{bars[place].where}: {lead} in an ending that is not the last: put it where all is played")
    if lead.startswith("D.C."):
        return 0
    if segno is None or segno > place:
        raise ValueError(
            f"{bars[place].where}: {lead}, and there is no segno before it: mark the bar to which it goes back"
        )
    if segno not in once:
        raise ValueError(f"{bars[segno].where}: the segno is in an ending that is not played again: put it elsewhere")
    return segno


def _check_played(bars: Sequence[WrittenBar], order: Sequence[int], coda: int | None) -> None:
    played = set(order)
    left = next((place for place in range(len(bars)) if place not in played), None)
    if left is None:
        return
    if left == coda:
        raise ValueError(
            f"{bars[left].where}: the coda is never reached: it takes a to coda on the way back from a D.C. or D.S."
        )
    raise ValueError(
        f"{bars[left].where}: this bar is never played: the jump before it leads away, and none leads here"
    )


def _repeated(bars: Sequence[WrittenBar], again: bool = True) -> list[int]:
    """Places of bars in the order of their repeats and endings; or, if nothing is played again, with last endings."""
    order: list[int] = []
    at, entered = 0, -1  # `entered` is the bar of a last ending to which the repeat before has led
    while at < len(bars):
        close = _close(bars, at)
        if close is None:
            if bars[at].opens:
                raise ValueError(f"{bars[at].where}: the repeat that begins here is not closed: put :| where it ends")
            after = next((place for place in range(at + 1, len(bars)) if bars[place].opens), len(bars))
            _refuse_endings(bars, range(at, after), entered)
            order += range(at, after)
            at = after
        else:
            played, at, entered = _repeat(bars, at, close, again)
            order += played
        if len(order) > MOST_BARS:
            raise ValueError(
                f"{bars[at - 1].where}: with its repeats written out the tune has more than {MOST_BARS} bars"
            )
    return order


def _close(bars: Sequence[WrittenBar], start: int) -> int | None:
    """The bar that closes a repeat from a bar on; None if another is opened before, or none closes."""
    for place in range(start, len(bars)):
        if place > start and bars[place].opens:
            return None
        if bars[place].times > 1:
            return place
    return None


def _refuse_endings(bars: Sequence[WrittenBar], places: range, entered: int = -1) -> None:
    for place in places:
        if bars[place].endings and place != entered:
            raise ValueError(
                f"{bars[place].where}: ending {bars[place].endings[0]} belongs to no repeat: "
                "the ending before it closes with :|, and the first follows what is repeated"
            )


def _repeat(bars: Sequence[WrittenBar], start: int, close: int, again: bool) -> tuple[list[int], int, int]:
    """What a repeat plays, the bar that comes after it, and the same if that is its last ending, else -1."""
    first = next((place for place in range(start, close + 1) if bars[place].endings), None)
    if first is None:
        return [*range(start, close + 1)] * (bars[close].times if again else 1), close + 1, -1
    closing = [range(first, close + 1)]  # the endings after which a repeat sign leads back
    after, last = close + 1, -1
    while after < len(bars) and bars[after].endings and not bars[after].opens:
        end = _close(bars, after)
        if end is None:
            last = after
            break
        closing.append(range(after, end + 1))
        after = end + 1
    played: list[int] = []
    due = 1
    for span in closing:
        _refuse_endings(bars, span[1:])
        for number in bars[span[0]].endings:
            _check_due(bars[span[0]], number, due)
            played += [*range(start, first), *span]
            due += 1
    if last >= 0:
        _check_due(bars[last], bars[last].endings[0], due)
        if len(bars[last].endings) > 1:
            raise ValueError(f"{bars[last].where}: an ending that is played more than once closes with :|")
    elif len(closing) > 1:
        raise ValueError(
            f"{bars[closing[-1][0]].where}: ending {due - 1} closes with :| and no ending {due} follows: end it with "
            "|, or put |: where the repeat begins that ends there"
        )
    final = [*range(start, first)]  # after a first ending alone, the next time goes past it
    return [*played, *final] if again else final, after, last


def _check_due(bar: WrittenBar, number: int, due: int) -> None:
    if number != due:
        raise ValueError(
            f"{bar.where}: ending {number} comes where ending {due} is due: endings are numbered 1, 2 and so on"
        )
