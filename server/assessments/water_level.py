"""The way of the water from left to right, for wide pages."""

from server.assessments.water import (
    MOST_VESSELS,
    PERMEATE,
    RADIUS,
    RECYCLE,
    STAGE_PERMEATE,
    Bubble,
    Drawing,
    Gauge,
    Machine,
    Pipe,
    Vessel,
    WaterScene,
    Words,
    draw_way,
    stage_title,
)

HEADER = 24
ROW = 40
HANG = 50
"""Height of the permeate header, height of a row of gauges, and how far below its pipe the first gauge hangs."""
BESIDE = RADIUS + 7
"""From the middle of a gauge to its words."""
MOST_ROWS = 3
VESSEL = 150
VESSEL_HEIGHT = 17
VESSEL_GAP = 5
STAGE_HANG = 31
STAGE_ROW = 36
"""How far below the header the first gauge of a stage's permeate stands, and the height of a row there."""


class _Level:
    """Draws from left to right; `x` is where the main line has come to, `suction` where the first pump draws."""

    def __init__(self, scene: WaterScene) -> None:
        self.scene = scene
        self.drawing = Drawing()
        self.x = 10.0
        self.from_x = 10.0
        self.suction = 0.0
        self.look = "feed"
        self.main = main_line(scene)
        self.lowest = self.main + HANG
        self.risers: list[float] = []

    def pipe_to(self, x: float) -> None:
        self.drawing.pipes.append(Pipe(f"M{self.from_x:g} {self.main:g}H{x:g}", self.look))
        self.from_x = x

    def hang(self, gauges: list[Gauge], x: float, *, pipe: float | None = None) -> float:
        """Hang gauges below a point of a pipe, in columns; return the width that they take."""
        at, pipe = x, self.main if pipe is None else pipe
        for n in range(0, len(gauges), MOST_ROWS):
            column = gauges[n : n + MOST_ROWS]
            last = pipe + HANG + ROW * (len(column) - 1)
            self.drawing.leads.append(f"M{at:g} {pipe}V{last - RADIUS:g}")
            self.drawing.taps.append((at, pipe))
            for row, gauge in enumerate(column):
                y = pipe + HANG + ROW * row
                self.drawing.bubbles.append(Bubble(at, y, gauge, at + BESIDE, "start"))
            self.lowest = max(self.lowest, last + RADIUS) if pipe == self.main else self.lowest
            at += BESIDE + max(words_width(gauge) for gauge in column) + RADIUS + 8
        return at - x

    def group(self, gauges: list[Gauge]) -> None:
        if gauges:
            self.x += self.hang(gauges, self.x + RADIUS + 4)

    def machine(self, kind: str, title: str, gauges: list[Gauge]) -> None:
        middle = self.x + RADIUS + 4
        self.suction = self.suction or (self.x - 6 if kind == "pump" else 0.0)
        self.drawing.machines.append(Machine(kind, middle, self.main))
        self.drawing.words.append(Words(middle, self.main - 26, title, "t-label middle"))
        self.x = max(middle + self.hang(gauges, middle) - RADIUS - 4, self.x + 72)

    def stage(self, number: int) -> None:
        scene, drawing = self.scene, self.drawing
        stage = scene.train.stages[number - 1]
        count = min(stage.vessels, MOST_VESSELS)
        left, step = self.x + 22, VESSEL_HEIGHT + VESSEL_GAP
        top = self.main - (count * step - VESSEL_GAP) / 2
        right, bottom = left + VESSEL, top + count * step - VESSEL_GAP
        self.pipe_to(left - 11)
        centers = [top + step * n + VESSEL_HEIGHT / 2 for n in range(count)]
        drawing.pipes.append(Pipe(manifold(left - 11, left, centers), self.look))
        self.look, self.from_x = scene.after_stage(number), right + 11
        drawing.pipes.append(Pipe(manifold(right + 11, right, centers), self.look))
        for center in centers:
            seams = tuple(
                f"M{left + VESSEL * n / stage.elements_per_vessel:g} {center - VESSEL_HEIGHT / 2:g}v{VESSEL_HEIGHT}"
                for n in range(1, stage.elements_per_vessel)
            )
            drawing.vessels.append(Vessel(left, center - VESSEL_HEIGHT / 2, VESSEL, VESSEL_HEIGHT, seams))
        riser = left + 24
        drawing.pipes.append(Pipe(f"M{riser:g} {top:g}V{HEADER}", "permeate"))
        self.risers.append(riser)
        self._stage_permeate(scene.stage_gauges(number, STAGE_PERMEATE), riser)
        self._stage_words(number, left + VESSEL / 2, bottom, (left, right))
        self.x = right + 22

    def _stage_permeate(self, gauges: list[Gauge], riser: float) -> None:
        for row, gauge in enumerate(gauges):
            y = HEADER + STAGE_HANG + STAGE_ROW * row
            self.drawing.leads.append(f"M{riser:g} {y}H{riser + 12:g}")
            self.drawing.bubbles.append(Bubble(riser + 12 + RADIUS, y, gauge, riser + 2 * RADIUS + 19, "start"))

    def _stage_words(self, number: int, middle: float, bottom: float, ends: tuple[float, float]) -> None:
        stage = self.scene.train.stages[number - 1]
        title = stage_title(number, stage.vessels, stage.elements_per_vessel)
        self.drawing.words.append(Words(middle, bottom + 24, title, "t-name middle"))
        if number in self.scene.attention:
            left, right = ends
            self.drawing.attention.append(f"M{left:g} {bottom + 34:g}H{right:g}")
            for line, text in enumerate(self.scene.attention[number].split("; ")):
                self.drawing.words.append(Words(middle, bottom + 53 + 18 * line, text, "t-attention middle"))
        self.lowest = max(self.lowest, bottom + 64)

    def finish(self) -> Drawing:
        drawing = self.drawing
        permeate, concentrate = self.scene.gauges(PERMEATE), self.scene.concentrate_gauges()
        start = self.x + RADIUS + 4
        wide = max(self.hang(concentrate, start), self.hang(permeate, start, pipe=HEADER))
        end = self.x + max(wide, 110)
        self.pipe_to(end)
        first = min(self.risers)
        drawing.pipes.append(Pipe(f"M{first:g} {HEADER}H{end:g}", "permeate"))
        drawing.words.append(Words(end + 8, HEADER + 4, "permeate", "t-label permeate"))
        drawing.words.append(Words(end + 8, self.main + 4, "concentrate", "t-label concentrate"))
        drawing.words.append(Words(10, self.main - 12, "feed", "t-label feed"))
        drawing.width, drawing.height = end + 84, self.lowest + 12
        return drawing


def main_line(scene: WaterScene) -> float:
    """Height of the main line: low enough for everything that stands between it and the permeate header."""
    permeate = min(len(scene.gauges(PERMEATE)), MOST_ROWS)
    needed: list[float] = [HANG + ROW * (permeate - 1) + RADIUS + 16, 90]
    for number, stage in enumerate(scene.train.stages, start=1):
        count = min(stage.vessels, MOST_VESSELS)
        half = (count * (VESSEL_HEIGHT + VESSEL_GAP) - VESSEL_GAP) / 2
        rows = len(scene.stage_gauges(number, STAGE_PERMEATE))
        needed.append(half + (STAGE_HANG + STAGE_ROW * (rows - 1) + RADIUS + 12 if rows else 40))
    return HEADER + max(needed)


def words_width(gauge: Gauge) -> float:
    """About how wide the words of a gauge are. [px]"""
    return max(8.0 * len(gauge.value) + 7.0 * len(gauge.unit) + 4, 6.6 * len(gauge.label))


def manifold(outer: float, inner: float, centers: list[float]) -> str:
    """Path that shares a pipe out to vessels, or gathers it from them."""
    trunk = f"M{outer:g} {centers[0]:g}V{centers[-1]:g}" if len(centers) > 1 else ""
    return trunk + "".join(f"M{outer:g} {center:g}H{inner:g}" for center in centers)


def level_drawing(scene: WaterScene) -> Drawing:
    """Draw a train from left to right: pretreatment, pump, stages, then permeate above and concentrate below."""
    level = _Level(scene)
    level.x += 34
    draw_way(scene, level)
    drawing = level.finish()
    if recycle := scene.gauges(RECYCLE):
        _add_recycle(drawing, recycle[0], level.suction, level.x, level.main)
    return drawing


def _add_recycle(drawing: Drawing, gauge: Gauge, suction: float, out: float, main: float) -> None:
    """Lead concentrate back to the pump below everything else."""
    y = drawing.height + 14
    drawing.pipes.append(Pipe(f"M{out:g} {main:g}V{y:g}H{suction:g}V{main:g}", "concentrate"))
    middle = (suction + out) / 2
    drawing.bubbles.append(Bubble(middle, y, gauge, middle + RADIUS + 7, "start"))
    drawing.height = y + RADIUS + 12
