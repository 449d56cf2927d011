"""The dialog that says why a figure is what it is, and walks from it down to the readings and back."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Container
from textual.screen import ModalScreen

from console.board.desk import Desk
from console.board.faces.why import Why, behind, why_lines
from console.board.inquiry import Inquiry
from console.board.look import Look
from console.board.view import View
from console.board.widgets.face import Face
from console.board.widgets.key_line import KeyLine
from console.engine.explain.book import NoFigureError
from console.engine.explain.explanation import Explanation
from console.engine.explain.figures import Figures
from console.engine.explain.kept import supply_keys
from console.engine.explain.paths import text_of

OF_A_SUPPLY = (
    ("margin", ("margin",)),
    ("margin, low end", ("margin", "p05")),
    ("endurance, plan", ("endurance_plan",)),
    ("endurance, low end", ("endurance_plan", "p05")),
    ("endurance, rate now", ("endurance_now",)),
    ("fitted ones last", ("fitted_lasts",)),
    ("runs out at", ("runs_out_at",)),
    ("usable", ("usable",)),
    ("on board", ("on_board",)),
    ("protected", ("protected",)),
    ("isolated", ("isolated",)),
    ("residual", ("residual",)),
    ("reserve", ("reserve",)),
    ("reserve released", ("released",)),
    ("rate now", ("rate_now",)),
    ("rate planned", ("rate_plan",)),
    ("allowance", ("allowance",)),
    ("left at need", ("left_at_need",)),
    ("left, low end", ("left_at_need", "p05")),
    ("chance to last", ("lasts_probability",)),
    ("age of readings", ("age",)),
)
"""The figures of a supply that can be chosen, by their words."""
_WHERE_THERE_IS = ("fitted ones last", "reserve released")
"""What most supplies do not have."""
NEED, CABIN = "need", "cabin"


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Reasons:
    """The figures of one assessment, and those of one subject."""

    figures: Figures
    subject: str
    listed: tuple[tuple[str, Explanation], ...]


class WhyScreen(ModalScreen[None]):
    """Reasons behind figures; all that is walked through is of one assessment.

    Args:
        look: how the board looks.
        desk: who asks the engine.
        current: what is drawn now, for the supply in hand.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("up", "move(-1)", "choose", id="why.up", key_display="up"),
        Binding("down", "move(1)", "choose", id="why.down", key_display="down"),
        Binding("enter", "enter", "go into it", id="why.enter", key_display="enter"),
        Binding("right", "subject(1)", "other supply", id="why.next", key_display="right"),
        Binding("left", "subject(-1)", "other supply", id="why.previous", key_display="left"),
        Binding("r", "renew", "renew", id="why.renew"),
        Binding("pagedown", "scroll(1)", "more", id="why.more", show=False),
        Binding("pageup", "scroll(-1)", "less", id="why.less", show=False),
        Binding("escape", "back", "back", id="why.back", key_display="esc"),
        Binding("q", "close", "to the board", id="why.close", show=False),
    ]
    AUTO_FOCUS = ""

    def __init__(self, look: Look, desk: Desk, current: Callable[[], View | None]) -> None:
        super().__init__()
        self._look = look
        self._desk = desk
        self._current = current
        self._inquiry: Inquiry[Reasons] = Inquiry(desk, self._draw)
        self._deeper: Inquiry[Explanation] = Inquiry(desk, self._went_deeper)
        self._subject = ""
        self._at = 0
        self._trail: tuple[tuple[Explanation, int], ...] = ()
        """Each figure walked into, with the input that is in hand there."""
        self._scroll = 0

    def compose(self) -> ComposeResult:
        """Figures, reasons and keys."""
        with Container(classes="dialog"):
            yield Face[Why](why_lines, what="reasons", ascii_only=self._look.ascii_only, id="why-face")
            yield KeyLine(self._look)

    def on_mount(self) -> None:
        """Ages go on."""
        self.set_interval(0.25, self._beat)

    def on_screen_resume(self, _event: events.ScreenResume) -> None:
        """Opened on the margin of the supply in hand."""
        subjects = self._subjects()
        view = self._current()
        supply = None if view is None else view.supply
        self._subject = supply.name if supply is not None else (subjects[0] if subjects else NEED)
        self._at = 0
        self._inquiry.forget()
        self.action_renew()

    def on_resize(self, _event: events.Resize) -> None:
        """Another size."""
        self._draw()

    def follow(self, _view: View) -> None:
        """What is read here stays of one assessment; its age goes on."""
        self._draw()

    def check_action(self, action: str, _parameters: tuple[object, ...]) -> bool | None:
        """Another supply is chosen at the top alone."""
        return not self._trail if action in ("subject", "renew") else True

    def action_renew(self) -> None:
        """All figures anew."""
        self._trail, self._scroll = (), 0
        self._deeper.forget()
        session, subject = self._desk.session, self._subject

        def work() -> Reasons:
            figures = session.figures()
            return Reasons(figures=figures, subject=subject, listed=_listed(figures, subject))

        self._inquiry.put(work)
        self.refresh_bindings()
        self._draw()

    def action_subject(self, by: int) -> None:
        """The figures of another supply, of the cabin or of the need; of the same assessment."""
        subjects = self._subjects()
        at = subjects.index(self._subject) if self._subject in subjects else 0
        self._subject = subjects[(at + by) % len(subjects)]
        self._at, self._scroll = 0, 0
        reasons = self._inquiry.answer
        if reasons is None:
            self.action_renew()
            return
        subject, figures = self._subject, reasons.figures

        def work() -> Reasons:
            return Reasons(figures=figures, subject=subject, listed=_listed(figures, subject))

        self._inquiry.put_again(work)
        self._draw()

    def action_move(self, by: int) -> None:
        """Another figure, or inside one another input."""
        self._scroll = 0
        if self._trail:
            one, at = self._trail[-1]
            at = min(max(0, len(one.inputs) - 1), max(0, at + by))
            self._trail = (*self._trail[:-1], (one, at))
        elif self._listed:
            self._at = min(len(self._listed) - 1, max(0, self._at + by))
        self._draw()

    def action_enter(self) -> None:
        """Into the chosen figure, or into the figure behind the input in hand."""
        reasons = self._inquiry.answer
        if reasons is None or self._deeper.is_reckoning:
            return
        if not self._trail:
            if self._listed:
                self._go_into(self._listed[self._at][1])
            return
        one, at = self._trail[-1]
        path = behind(one.inputs[at].source) if one.inputs else None
        if path is not None:
            figures = reasons.figures
            self._deeper.put(lambda: figures.explain(path))
            self._draw()

    def on_face_clicked(self, message: Face.Clicked) -> None:
        """A figure or an input was chosen with the mouse; once more goes into it."""
        at = int(message.item)
        if self._trail:
            one, before = self._trail[-1]
            self._trail = (*self._trail[:-1], (one, at))
        else:
            before, self._at = self._at, min(at, len(self._listed) - 1)
        if before == at:
            self.action_enter()
        self._draw()

    def action_back(self) -> None:
        """One level up, at last to the board."""
        self._scroll = 0
        if not self._trail:
            self.app.pop_screen()
            return
        self._deeper.forget()
        self._trail = self._trail[:-1]
        self.refresh_bindings()
        self._draw()

    def action_close(self) -> None:
        """To the board from any depth."""
        self.app.pop_screen()

    def action_scroll(self, by: int) -> None:
        """Move what does not fit."""
        self._scroll = max(0, self._scroll + 4 * by)
        self._draw()

    @property
    def _listed(self) -> tuple[tuple[str, Explanation], ...]:
        reasons = self._inquiry.answer
        return () if reasons is None or reasons.subject != self._subject else reasons.listed

    def _subjects(self) -> list[str]:
        view = self._current()
        snapshot = None if view is None else view.snapshot
        if snapshot is None:
            return [NEED]
        cabin = [CABIN] if snapshot.clocks or snapshot.cabin else []
        return [*snapshot.supplies, *cabin, NEED]

    def _go_into(self, one: Explanation) -> None:
        self._trail, self._scroll = (*self._trail, (one, 0)), 0
        self.refresh_bindings()
        self._draw()

    def _went_deeper(self) -> None:
        one, problem = self._deeper.answer, self._deeper.problem
        self._deeper.forget()
        if one is not None:
            self._go_into(one)
        elif problem:
            self._inquiry.problem = problem
        self._draw()

    def _beat(self) -> None:
        if self.is_active:
            if self._inquiry.answer is None and self._inquiry.is_due:
                self.action_renew()
            self._draw()

    def _draw(self) -> None:
        listed, view = self._listed, self._current()
        state = Why(
            look=self._look,
            subject=self._subject,
            figures=listed,
            at=min(self._at, max(0, len(listed) - 1)),
            trail=tuple(one for one, _ in self._trail),
            inputs_at=self._trail[-1][1] if self._trail else 0,
            is_waiting=self._deeper.is_reckoning,
            snapshot=None if view is None else view.snapshot,
            standing=self._inquiry.standing(),
            scroll=self._scroll,
        )
        self.query_one("#why-face", Face).show(state)


def _listed(figures: Figures, subject: str) -> tuple[tuple[str, Explanation], ...]:
    """The figures of a subject by their words; one that there is not is left out."""
    if subject in (NEED, CABIN):
        head = f"{subject}."
        places = [
            (path.removeprefix(head), path)
            for path in figures.paths()
            if path.startswith(head) and not path.endswith(".age")
        ]
    else:
        home = supply_keys(subject)
        places = [(words, text_of((*home, *keys))) for words, keys in OF_A_SUPPLY]
    found = []
    for words, path in places:
        try:
            one = figures.explain(path)
        except NoFigureError:
            continue
        if one.value or words not in _WHERE_THERE_IS:
            found.append((words, one))
    return tuple(found)
