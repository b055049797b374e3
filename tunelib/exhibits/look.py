"""The look of every picture: themes, colours with one meaning each, four sizes of type in two weights, one grid.

Colours start from Okabe and Ito's colour-blind-safe set (*Color Universal Design*, 2008) and have one meaning
throughout: pure ratios are green, twelve is orange, thirty-one is blue. Each has four tints made for its theme: `full`
for the thing that is spoken of, `text` for words about it, `dim` for what recedes and `fill` for ground. All else is
ink or one of three greys. Roughness has a ramp of its own, whose lightness runs one way for every kind of sight. A
second cue goes with each meaning: bars and posts are pure, squares twelve, rounds thirty-one.

Type is set in points on a picture 9.6 by 5.4 inches (or 5.4 by 9.6, upright, or 5.4 by 5.4, square); 1080p video
is that picture at 200 pixels an inch, where a label of 13 points is 36 pixels high.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, TypeAlias, TypeVar

from matplotlib import patheffects
from matplotlib.axes import Axes
from matplotlib.colors import LinearSegmentedColormap
from matplotlib.figure import Figure, SubFigure
from matplotlib.text import Text
from matplotlib.transforms import ScaledTranslation

from tunelib.exhibits.typeface import as_set, families
from tunelib.pitch import look_up

SIZES = {"label": (13.0, 15.0), "name": (16.0, 19.0), "title": (21.0, 24.0), "number": (40.0, 48.0)}
"""The four sizes of type, in points: in a wide picture, and in an upright or square one.

Labels; the name of the chosen thing, or a second line; the title; and the number that matters, once in a picture.
"""
HALO = 3.0
MARGIN = 0.45  # inches that stay free on every side of a picture

LONG_SIDE, SHORT_SIDE = 9.6, 5.4  # inches
HEADING = "heading"  # the label by which a picture's title is found again

Place: TypeAlias = tuple[float, float, float, float]  # left, bottom, width, height: fractions of the picture
_Any = TypeVar("_Any")


@dataclass(frozen=True)
class Tint:
    """The colours of one meaning on one theme, and the marker of its points."""

    full: str
    text: str
    dim: str
    fill: str
    marker: str


@dataclass(frozen=True)
class Theme:
    """A background and the colours on it. `paper` is None for a transparent picture, whose text carries a halo.

    `ink` is for what is spoken of, `grey` for soft text, `line` for context lines, `ground` for surfaces. `rough` is
    the ramp of roughness, from smooth to rough.
    """

    name: str
    paper: str | None
    ink: str
    grey: str
    line: str
    ground: str
    halo: str
    pure: Tint
    twelve: Tint
    thirty_one: Tint
    rough: tuple[str, str, str, str, str]

    @property
    def behind_text(self) -> str:
        """The colour behind text."""
        return self.paper or self.halo

    @property
    def roughness(self) -> LinearSegmentedColormap:
        """The ramp of roughness as a map from 0, smooth, to 1, rough."""
        return LinearSegmentedColormap.from_list("roughness", self.rough)

    def of(self, steps: int) -> Tint:
        """The tint of a division of the octave: twelve's, thirty-one's, or greys for any other."""
        others = Tint(full=self.ink, text=self.ink, dim=self.line, fill=self.ground, marker="o")
        return {12: self.twelve, 31: self.thirty_one}.get(steps, others)


_PURE, _TWELVE, _THIRTY_ONE = "D", "s", "o"
_LIGHT = {
    "pure": Tint("#009E73", "#12805C", "#539F81", "#D5EEE4", _PURE),
    "twelve": Tint("#D55E00", "#A84800", "#C6784A", "#F9DDCB", _TWELVE),
    "thirty_one": Tint("#0072B2", "#085795", "#5D80A9", "#D3E2F3", _THIRTY_ONE),
    "rough": ("#FAF1F7", "#E6C3DA", "#C486AE", "#93458A", "#551853"),
}
_DARK = {
    "pure": Tint("#45DBA8", "#45DBA8", "#2A8C69", "#16352E", _PURE),
    "twelve": Tint("#F4772A", "#F4772A", "#96592F", "#3A271C", _TWELVE),
    "thirty_one": Tint("#5B93E8", "#5B93E8", "#48689E", "#1A2C48", _THIRTY_ONE),
    "rough": ("#241D2C", "#44294A", "#74385F", "#B2568A", "#F2A0CC"),
}
THEMES: dict[str, Theme] = {
    theme.name: theme
    for theme in (
        Theme("light", "#FFFFFF", "#111111", "#5C5C5C", "#8A8A8A", "#ECECEC", "#FFFFFF", **_LIGHT),  # type: ignore[arg-type]
        Theme("dark", "#12161B", "#F3F1EC", "#A3AAB2", "#6B737C", "#20262D", "#12161B", **_DARK),  # type: ignore[arg-type]
        Theme("transparent", None, "#F3F1EC", "#A3AAB2", "#6B737C", "#20262D", "#12161B", **_DARK),  # type: ignore[arg-type]
    )
}


def find_theme(name: str) -> Theme:
    """The theme of a name. Raises ValueError with the nearest name for one that does not exist."""
    return look_up(name, THEMES, "theme")


class Words(Text):
    """Text that shows the signs of notes as players write them, whatever way they are typed."""

    def set_text(self, s: Any) -> None:
        """Set the words; ``"E½♭"`` is shown with the half-flat."""
        super().set_text(as_set("" if s is None else str(s)))


class Headline:
    """The number that matters, large, with what it counts in words: after it on its line, or below it.

    On its line, `x` is where the number ends and the words begin, so that neither moves when the other changes.
    """

    def __init__(self, number: Text, words: Text) -> None:
        self.number, self.words = number, words

    @property
    def artists(self) -> tuple[Text, Text]:
        """Both texts, for those that move."""
        return self.number, self.words

    def say(self, number: str, words: str) -> None:
        """Show a number and words."""
        self.number.set_text(number)
        self.words.set_text(words)

    def move(self, x: float, y: float) -> None:
        """Put it at another place, with what it counts."""
        for text in self.artists:
            text.set_position((x, y))


@dataclass(frozen=True)
class Look:
    """How one picture is drawn: its theme, its shape, and its title.

    A square is laid out like an upright picture (`tall` is true of both), except where `square` makes a difference.
    `title` replaces the exhibit's own; None leaves that, and an empty one leaves the place blank.
    """

    theme: Theme
    tall: bool = False
    square: bool = False
    title: str | None = None

    def fit(self, wide: _Any, tall: _Any, square: _Any | None = None) -> _Any:
        """The one that suits this shape of those given for each; a square takes a tall picture's unless told."""
        if self.square and square is not None:
            return square
        return tall if self.tall else wide

    def size(self, name: str) -> float:
        """One of the four `SIZES` of type in this shape, in points."""
        return SIZES[name][self.tall]

    @property
    def inches(self) -> tuple[float, float]:
        """Width and height of the picture."""
        return self.fit((LONG_SIDE, SHORT_SIDE), (SHORT_SIDE, LONG_SIDE), (SHORT_SIDE, SHORT_SIDE))

    @property
    def frame(self) -> Place:
        """The part of the picture inside the margins and below the title: where the thing itself goes."""
        width, height = self.inches
        top = height - MARGIN - self.size("title") / 72 - 0.12
        return MARGIN / width, MARGIN / height, 1 - 2 * MARGIN / width, (top - MARGIN) / height

    def axes(
        self,
        figure: Figure | SubFigure,
        wide: Place,
        tall: Place | None = None,
        square: Place | None = None,
        *,
        x: str = "",
        y: str = "",
    ) -> Axes:
        """Axes in our look at their place in each shape."""
        axes = figure.add_axes(self.fit(wide, tall or wide, square))
        axes.patch.set_visible(False)
        for side in ("top", "right"):
            axes.spines[side].set_visible(False)
        for side in ("left", "bottom"):
            axes.spines[side].set_color(self.theme.line)
        axes.tick_params(
            colors=self.theme.line, labelcolor=self.theme.grey, labelsize=self.size("label"),
            labelfontfamily=list(families()),
        )  # fmt: skip
        for label, text in ((axes.xaxis.label, x), (axes.yaxis.label, y)):
            label.set(text=text, color=self.theme.grey, fontsize=self.size("label"), fontfamily=list(families()))
        self.haloed(axes.xaxis.label, axes.yaxis.label)
        return axes

    def bare(
        self,
        figure: Figure | SubFigure,
        wide: Place | None = None,
        tall: Place | None = None,
        square: Place | None = None,
    ) -> Axes:
        """Axes without frame or ticks, in the picture's `frame` unless told where."""
        axes = self.axes(figure, wide or self.frame, tall, square)
        axes.set_axis_off()
        return axes

    def text(
        self, where: Figure | SubFigure | Axes, x: float, y: float, words: str = "", size: str = "label", **style: Any
    ) -> Text:
        """Text at (x, y): data coordinates on axes, fractions on a figure.

        `size` is one of `SIZES`; labels are set in the normal weight, all else bold, in ink unless told otherwise.
        """
        settings: dict[str, Any] = {
            "color": self.theme.ink,
            "fontsize": self.size(size),
            "weight": "normal" if size == "label" else "bold",
            "family": list(families()),
            "parse_math": False,
            "clip_on": False,
            "verticalalignment": "baseline",
        }
        given = {{"va": "verticalalignment", "ha": "horizontalalignment"}.get(key, key): style[key] for key in style}
        made = Words(x, y, "", **(settings | given))
        made.set_text(words)
        where.add_artist(made)
        self.haloed(made)
        return made

    def headline(
        self,
        where: Figure | SubFigure | Axes,
        x: float,
        y: float,
        *,
        below: bool = False,
        ha: str = "left",
        **style: Any,
    ) -> Headline:
        """A place for the number that matters: a `Headline`, whose number has its baseline at `y`.

        With `below`, its words come under it, both aligned at `x` as `ha` says; else after it, on its line.
        """
        side = ha if below else "right"
        number = self.text(where, x, y, size="number", ha=side, **style)
        words = self.text(where, x, y, size="name", ha=ha if below else "left", va="baseline", **style)
        down, right = (-0.4, 0.0) if below else (0.0, 0.1)  # inches
        words.set_transform(words.get_transform() + ScaledTranslation(right, down, self._inch(where)))
        return Headline(number, words)

    @staticmethod
    def _inch(where: Figure | SubFigure | Axes) -> Any:
        figure = where.get_figure(root=True)
        assert figure is not None
        return figure.dpi_scale_trans

    def beside(self, axes: Axes, y: float, words: str = "", **style: Any) -> Text:
        """Text to the left of axes, at the height of the data value `y`."""
        settings: dict[str, Any] = {"transform": axes.get_yaxis_transform(), "va": "center", "ha": "right"} | style
        return self.text(axes, -0.02, y, words, **settings)

    def heading(self, figure: Figure | SubFigure, words: str) -> Text:
        """The title of a picture, at its top left: `words`, unless the picture has a title of its own."""
        shown = words if self.title is None else self.title
        width, height = self.inches
        return self.text(
            figure, MARGIN / width, 1 - (MARGIN - 0.04) / height, shown, "title", va="top", ha="left", label=HEADING
        )

    def ring(self, width: float = 2.0) -> dict[str, Any]:
        """How a mark is set off from what it lies on: the edge of its points, as matplotlib takes it."""
        return {"mec": self.theme.behind_text, "mew": width}

    def haloed(self, *texts: Text) -> None:
        """Give text a halo where the picture's background is unknown."""
        if self.theme.paper is None:
            for text in texts:
                text.set_path_effects([patheffects.withStroke(linewidth=HALO, foreground=self.theme.halo)])

    def finish(self, figure: Figure | SubFigure) -> None:
        """Give halos to tick labels, once the axes are laid out."""
        for axes in figure.axes:
            if axes.axison:  # else asking for its ticks would make some
                self.haloed(*axes.get_xticklabels(), *axes.get_yticklabels())
