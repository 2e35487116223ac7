"""How pictures are drawn for a run: usual ones, and each damage over its whole range.

An axis is a damage with its range cut into stretches; a picture of an axis has a value from one of
them, chosen evenly, and is a clean scan otherwise. A mix has three axes at once. What a run has
drawn of each stretch is counted (`stretches`), so that none is forgotten.
"""

from bisect import bisect_right
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

from numpy.random import Generator

from tests.scanning.corpus.damage import Damage

Level = Callable[[Generator], Damage]


def scan(rng: Generator) -> Damage:
    """A flatbed scanner's picture."""
    turn = rng.uniform(-1.5, 1.5)
    return Damage(turn=turn, noise=3, jpeg=80, blur=0.4, table=(225, 250))


def tidy(rng: Generator) -> Damage:
    """A photograph taken with care."""
    return Damage(
        turn=rng.uniform(-6, 6), tilt=rng.uniform(0, 8),
        wave=0.25, blur=0.8, noise=4, jpeg=75, gradient=0.25,
    )  # fmt: skip


def poor(rng: Generator) -> Damage:
    """A photograph by a volunteer in a hurry, any way up."""
    return Damage(
        turn=rng.uniform(-180, 180), tilt=rng.uniform(0, 18),
        wave=0.6, blur=1.2, noise=7, jpeg=60, gradient=0.35, shadow=0.35, contrast=0.75,
    )  # fmt: skip


def hard(rng: Generator) -> Damage:
    """A photograph that should rather be taken again."""
    return Damage(
        turn=rng.uniform(-180, 180), tilt=rng.uniform(0, 25), wave=1.1, blur=1.9, noise=10,
        jpeg=45, gradient=0.45, shadow=0.5, contrast=0.55, stain=0.3,
    )  # fmt: skip


LEVELS: dict[str, Level] = {"scan": scan, "tidy": tidy, "poor": poor, "hard": hard}


@dataclass(frozen=True)
class Axis:
    """One damage: the field of `Damage` it is, where its stretches end, and in which unit.

    `whole`: its values are whole numbers, each a stretch of its own.
    """

    field: str
    ends: tuple[float, ...]
    unit: str
    whole: bool = False

    @property
    def count(self) -> int:
        """Of stretches."""
        return len(self.ends) if self.whole else len(self.ends) - 1

    def drawn(self, rng: Generator) -> float:
        """A value: any stretch as often as any other."""
        which = int(rng.integers(self.count))
        if self.whole:
            return self.ends[which]
        return float(rng.uniform(self.ends[which], self.ends[which + 1]))

    def stretch(self, value: float) -> int:
        """In which stretch a value lies."""
        if self.whole:
            return self.ends.index(value)
        return min(max(bisect_right(self.ends, value) - 1, 0), self.count - 1)

    def name_of(self, stretch: int) -> str:
        """As it stands in a table."""
        if self.whole:
            return f"{self.ends[stretch]:g}"
        return f"{self.ends[stretch]:g} to {self.ends[stretch + 1]:g}"


AXES = {
    "any way up": Axis("turn", (-180, -90, -8, 8, 90, 180), "degrees"),
    "skew": Axis("turn", (-8, -3, 0, 3, 8), "degrees"),
    "perspective": Axis("tilt", (0, 8, 16, 25), "degrees"),
    "resolution": Axis("dpi", (100, 120, 160, 200, 280, 400, 600), "dots per inch"),
    "blur": Axis("blur", (0, 0.8, 1.6, 2.5), "pixels at 200 dpi"),
    "jpeg": Axis("jpeg", (30, 45, 60, 80, 96), "quality"),
    "noise": Axis("noise", (0, 5, 10, 16), "grey values"),
    "gamma": Axis("gamma", (0.55, 0.75, 0.95, 1.2, 1.5, 1.8), "exponent"),
    "contrast": Axis("contrast", (0.45, 0.65, 0.85, 1.0), "of full contrast"),
    "gradient": Axis("gradient", (0, 0.15, 0.3, 0.5), "of the light"),
    "shadow": Axis("shadow", (0, 0.15, 0.3, 0.5), "of the light"),
    "glare": Axis("glare", (0, 0.25, 0.45, 0.7), "towards white"),
    "crease": Axis("crease", (0, 0.15, 0.3, 0.5), "darkness"),
    "stain": Axis("stain", (0, 0.12, 0.25, 0.35), "darkness"),
    "wave": Axis("wave", (0, 0.3, 0.6, 1.0), "millimetres"),
    "show-through": Axis("through", (0, 0.04, 0.08, 0.12), "of the other side"),
    "moire": Axis("moire", (0, 5, 10, 14), "grey values"),
    "lost corner": Axis("lost_corner", (1, 2, 3), "corner", whole=True),
    "two tones": Axis("two_tone", (120, 140, 160), "grey value of the threshold"),
}

MIXED = 3
NEVER_MIXED = ("two tones", "skew")


def one_axis(name: str) -> Level:
    """A scan with one damage, over the whole of its range."""
    axis = AXES[name]

    def level(rng: Generator) -> Damage:
        value = axis.drawn(rng)
        how = scan(rng)
        if axis.field in ("jpeg", "two_tone", "lost_corner"):
            value = int(value)
        return replace(
            how, **{axis.field: value}, **({"jpeg": None} if name == "two tones" else {})
        )

    return level


def mix(rng: Generator) -> Damage:
    """Three damages at once, whichever they are."""
    able = [name for name in AXES if name not in NEVER_MIXED]
    how = scan(rng)
    for number in rng.choice(len(able), MIXED, replace=False):
        how = replace(how, **vars_of(one_axis(able[int(number)])(rng), AXES[able[int(number)]]))
    return how


def vars_of(how: Damage, axis: Axis) -> dict[str, object]:
    """The one field of an axis."""
    return {axis.field: getattr(how, axis.field)}


KINDS: dict[str, Level] = {**LEVELS, "mix": mix, **{name: one_axis(name) for name in AXES}}
"""Every kind of picture by name."""


def stretches(how: Damage) -> Iterator[tuple[str, str]]:
    """In which stretch of every axis a picture lies, for the table of what was drawn."""
    plain = Damage()
    for name, axis in AXES.items():
        value = getattr(how, axis.field)
        if value is None or (value == getattr(plain, axis.field) and axis.ends[0] != value):
            continue
        if not axis.whole and not axis.ends[0] <= value <= axis.ends[-1]:
            continue
        yield name, axis.name_of(axis.stretch(value))
