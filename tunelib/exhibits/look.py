"""The look of every picture: themes, colours with one meaning each, sizes of type.

Colours are those of Okabe and Ito's colour-blind-safe set (*Color Universal Design*, 2008), used with one meaning
throughout: pure ratios are bluish green, twelve is vermillion, thirty-one is blue, the rest is the ink of the theme
or grey. None of them reaches the contrast that text needs on every theme, so text is always ink, and colour goes
into thick lines and fills with a second cue (a shape, a dash, a word).

Type is set in points on a picture 9.6 by 5.4 inches (or 5.4 by 9.6, upright, or 5.4 by 5.4, square); 1080p video
is that picture at 200 pixels an inch, where `SMALL` is 29 pixels high.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, TypeAlias, TypeVar

from matplotlib import patheffects
from matplotlib.axes import Axes
from matplotlib.figure import Figure, SubFigure
from matplotlib.text import Text

from tunelib.pitch import look_up

PURE_COLOUR = "#009E73"
TWELVE_COLOUR = "#D55E00"
THIRTY_ONE_COLOUR = "#0072B2"

SMALL = 10.5
NORMAL = 12.0
LARGE = 15.0
HALO = 3.0

LONG_SIDE, SHORT_SIDE = 9.6, 5.4  # inches
HEADING = "heading"  # the label by which a picture's title is found again

Place: TypeAlias = tuple[float, float, float, float]  # left, bottom, width, height: fractions of the picture
_Any = TypeVar("_Any")


@dataclass(frozen=True)
class Theme:
    """A background and the ink on it. `paper` is None for a transparent picture, whose text carries a halo."""

    name: str
    paper: str | None
    ink: str
    grey: str
    faint: str
    halo: str

    @property
    def behind_text(self) -> str:
        """The colour behind text."""
        return self.paper or self.halo


THEMES = {
    theme.name: theme
    for theme in (
        Theme("light", paper="#FFFFFF", ink="#111111", grey="#6E6E6E", faint="#D9D9D9", halo="#FFFFFF"),
        Theme("dark", paper="#101418", ink="#F4F4F4", grey="#9A9A9A", faint="#3A4048", halo="#101418"),
        Theme("transparent", paper=None, ink="#FFFFFF", grey="#A8A8A8", faint="#7A7A7A", halo="#101418"),
    )
}


def find_theme(name: str) -> Theme:
    """The theme of a name. Raises ValueError with the nearest name for one that does not exist."""
    return look_up(name, THEMES, "theme")


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
            axes.spines[side].set_color(self.theme.grey)
        axes.tick_params(colors=self.theme.grey, labelcolor=self.theme.ink, labelsize=SMALL)
        for label, text in ((axes.xaxis.label, x), (axes.yaxis.label, y)):
            label.set(text=text, color=self.theme.ink, fontsize=SMALL)
        self.haloed(axes.xaxis.label, axes.yaxis.label)
        return axes

    def bare(
        self,
        figure: Figure | SubFigure,
        wide: Place,
        tall: Place | None = None,
        square: Place | None = None,
    ) -> Axes:
        """Axes without frame or ticks."""
        axes = self.axes(figure, wide, tall, square)
        axes.set_axis_off()
        return axes

    def text(self, where: Figure | SubFigure | Axes, x: float, y: float, words: str = "", **style: Any) -> Text:
        """Text in ink at (x, y): data coordinates on axes, fractions on a figure. `SMALL` unless a size is given."""
        settings: dict[str, Any] = {"color": self.theme.ink, "fontsize": SMALL} | style
        words_there = where.text(x, y, words, **settings)
        self.haloed(words_there)
        return words_there

    def beside(self, axes: Axes, y: float, words: str = "", **style: Any) -> Text:
        """Text to the left of axes, at the height of the data value `y`."""
        settings = {"transform": axes.get_yaxis_transform(), "va": "center", "ha": "right"} | style
        return self.text(axes, -0.02, y, words, **settings)

    def heading(self, figure: Figure | SubFigure, words: str) -> Text:
        """The title of a picture, at its top left: `words`, unless the picture has a title of its own."""
        shown = words if self.title is None else self.title
        style: dict[str, Any] = {"fontsize": LARGE, "weight": "bold", "va": "top", "ha": "left", "label": HEADING}
        return self.text(figure, 0.03, 0.965, shown, parse_math=False, **style)

    def haloed(self, *texts: Text) -> None:
        """Give text a halo where the picture's background is unknown."""
        if self.theme.paper is None:
            for text in texts:
                text.set_path_effects([patheffects.withStroke(linewidth=HALO, foreground=self.theme.halo)])

    def finish(self, figure: Figure | SubFigure) -> None:
        """Give halos to tick labels, once the axes are laid out."""
        for axes in figure.axes:
            self.haloed(*axes.get_xticklabels(), *axes.get_yticklabels())
