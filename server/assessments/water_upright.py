"""The way of the water from top to bottom, for phones: the main line on the left, permeate on the right."""

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

WIDTH = 340
MAIN = 30
HEADER = 326
ROW = 40
VESSEL = 104
VESSEL_WIDTH = 15
VESSEL_STEP = 21


class _Upright:
    """Draws downwards; `y` is where the main line has come to, `right` where permeate has."""

    def __init__(self, scene: WaterScene) -> None:
        self.scene = scene
        self.drawing = Drawing(width=WIDTH)
        self.y = 22.0
        self.right = 22.0
        self.from_y = 10.0
        self.look = "feed"
        self.first_riser: float | None = None

    def pipe_to(self, y: float) -> None:
        self.drawing.pipes.append(Pipe(f"M{MAIN} {self.from_y:g}V{y:g}", self.look))
        self.from_y = y

    def group(self, gauges: list[Gauge]) -> None:
        for gauge in gauges:
            middle = self.y + ROW / 2
            self.drawing.leads.append(f"M{MAIN} {middle:g}H{MAIN + 38}")
            self.drawing.taps.append((MAIN, middle))
            self.drawing.bubbles.append(Bubble(MAIN + 38 + RADIUS, middle, gauge, MAIN + 46 + 2 * RADIUS, "start"))
            self.y += ROW

    def permeate_rows(self, gauges: list[Gauge]) -> None:
        for gauge in gauges:
            middle = self.right + ROW / 2
            self.drawing.leads.append(f"M{HEADER} {middle:g}H{HEADER - 16}")
            self.drawing.taps.append((HEADER, middle))
            self.drawing.bubbles.append(Bubble(HEADER - 16 - RADIUS, middle, gauge, HEADER - 24 - 2 * RADIUS, "end"))
            self.right += ROW

    def machine(self, kind: str, title: str, gauges: list[Gauge]) -> None:
        self.y = max(self.y, self.right if self.first_riser is None else self.y)
        self.drawing.machines.append(Machine(kind, MAIN, self.y + 20, turned=90))
        self.drawing.words.append(Words(MAIN + 24, self.y + 24, title, "t-label"))
        self.y += 40
        self.group(gauges)

    def stage(self, number: int) -> None:
        scene, drawing = self.scene, self.drawing
        stage = scene.train.stages[number - 1]
        lines = scene.attention[number].split("; ") if number in scene.attention else []
        top = max(self.y, self.right if number > 1 else 0) + 22
        count = min(stage.vessels, MOST_VESSELS)
        centers = [float(MAIN + VESSEL_STEP * n) for n in range(count)]
        self.pipe_to(top - 12)
        drawing.pipes.append(Pipe(manifold(top - 12, top, centers), self.look))
        self.look, self.from_y = scene.after_stage(number), top + VESSEL + 12
        drawing.pipes.append(Pipe(manifold(top + VESSEL + 12, top + VESSEL, centers), self.look))
        for center in centers:
            left = center - VESSEL_WIDTH / 2
            seams = tuple(
                f"M{left:g} {top + VESSEL * n / stage.elements_per_vessel:g}h{VESSEL_WIDTH}"
                for n in range(1, stage.elements_per_vessel)
            )
            drawing.vessels.append(Vessel(left, top, VESSEL_WIDTH, VESSEL, seams))
        edge = centers[-1] + VESSEL_WIDTH / 2
        text_x, riser = edge + 18, top + 22 + 17 * len(lines)
        drawing.words.append(
            Words(text_x, top + 6, stage_title(number, stage.vessels, stage.elements_per_vessel), "t-name")
        )
        if lines:
            drawing.attention.append(f"M{edge + 9:g} {top - 6:g}V{riser - 10:g}")
        for n, text in enumerate(lines):
            drawing.words.append(Words(text_x, top + 24 + 17 * n, text, "t-attention"))
        drawing.pipes.append(Pipe(f"M{edge:g} {riser:g}H{HEADER}", "permeate"))
        self.first_riser = self.first_riser or riser
        self.right = riser + 8
        self.permeate_rows(scene.stage_gauges(number, STAGE_PERMEATE))
        self.y = top + VESSEL + 18

    def finish(self) -> Drawing:
        drawing, scene = self.drawing, self.scene
        self.group(scene.concentrate_gauges())
        recycle = scene.gauges(RECYCLE)
        self.group(recycle)
        self.right = max(self.right, self.from_y)
        self.permeate_rows(scene.gauges(PERMEATE))
        end = max(self.y, self.right) + 10
        self.pipe_to(end)
        drawing.pipes.append(Pipe(f"M{HEADER} {self.first_riser or 0:g}V{end:g}", "permeate"))
        drawing.words.append(Words(MAIN - 4, end + 20, "concentrate", "t-label concentrate"))
        drawing.words.append(Words(HEADER + 4, end + 20, "permeate", "t-label end permeate"))
        drawing.words.append(Words(MAIN + 14, 16, "feed", "t-label feed"))
        drawing.height = end + 30
        return drawing


def manifold(outer: float, inner: float, centers: list[float]) -> str:
    """Path that shares a pipe out to vessels, or gathers it from them."""
    trunk = f"M{centers[0]:g} {outer:g}H{centers[-1]:g}" if len(centers) > 1 else ""
    return trunk + "".join(f"M{center:g} {outer:g}V{inner:g}" for center in centers)


def upright_drawing(scene: WaterScene) -> Drawing:
    """Draw a train from top to bottom: pretreatment, pump, stages, then permeate and concentrate."""
    upright = _Upright(scene)
    draw_way(scene, upright)
    return upright.finish()
