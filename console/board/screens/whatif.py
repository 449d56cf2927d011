"""The dialog for suppositions: changes written in words, what they would do. It changes nothing."""

from __future__ import annotations

from collections.abc import Callable
from typing import ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Container, Horizontal
from textual.screen import ModalScreen
from textual.widgets import Input, Label

from console.board.completing import Completing
from console.board.desk import Desk
from console.board.faces.whatif import (
    HINT_ROWS,
    LIST_ROWS,
    Supposed,
    Whatif,
    changes_lines,
    effect_lines,
    hint_lines,
)
from console.board.inquiry import Inquiry
from console.board.look import Look
from console.board.suggestions import completions, form_of, vocabulary_of
from console.board.view import View
from console.board.widgets.face import Face
from console.board.widgets.inert_input import InertInput
from console.board.widgets.key_line import KeyLine
from console.change_words import Ground, read_changes
from console.engine.difference import difference


class WhatifScreen(ModalScreen[None]):
    """One dialog for all suppositions; its changes and what is typed stay while it is closed.

    Args:
        look: how the board looks.
        desk: who asks the engine.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "add", "add", id="whatif.add", key_display="enter", priority=True),
        Binding("tab", "complete", "complete", id="whatif.complete", key_display="tab", priority=True),
        Binding("up", "move(-1)", "choose", id="whatif.up", key_display="up", priority=True),
        Binding("down", "move(1)", "choose", id="whatif.down", key_display="down", priority=True),
        Binding("ctrl+x", "take_out", "take it out", id="whatif.out", key_display="ctrl+x", priority=True),
        Binding("pagedown", "scroll(1)", "more", id="whatif.more", show=False, priority=True),
        Binding("pageup", "scroll(-1)", "less", id="whatif.less", show=False, priority=True),
        Binding("escape", "close", "back", id="whatif.close", key_display="esc", priority=True),
    ]
    AUTO_FOCUS = "#change"

    def __init__(self, look: Look, desk: Desk) -> None:
        super().__init__()
        self._look = look
        self._desk = desk
        scenario = desk.session.scenario
        self._vocabulary = vocabulary_of(scenario.craft, scenario.plan)
        self._inquiry: Inquiry[Supposed] = Inquiry(desk, self._answered)
        self._trial: Inquiry[Supposed] = Inquiry(desk, self._tried)
        self._trying = ""
        """What was written when it was tried."""
        self._texts: tuple[str, ...] = ()
        self._at = 0
        self._problem = ""
        self._completing = Completing()
        self._scroll = 0

    def compose(self) -> ComposeResult:
        """The changes, the line for another, what it can go on with, and what all of them do."""
        ascii_only = self._look.ascii_only
        with Container(classes="dialog"):
            yield Face[Whatif](changes_lines, what="changes", ascii_only=ascii_only, id="changes")
            with Horizontal(id="change-row"):
                yield Label("change", markup=False)
                yield InertInput(id="change", placeholder="load NAME off; level NAME from T+30h; ...")
            yield Face[Whatif](hint_lines, what="hint", ascii_only=ascii_only, id="hint")
            yield Face[Whatif](effect_lines, what="effect", ascii_only=ascii_only, id="effect")
            yield KeyLine(self._look)

    def on_mount(self) -> None:
        """Ages go on."""
        self.query_one("#hint").styles.height = HINT_ROWS
        self.set_interval(0.25, self._beat)

    def on_screen_resume(self, _event: events.ScreenResume) -> None:
        """Opened: what was supposed before is reckoned anew."""
        self._renew()
        self._draw()

    def on_resize(self, _event: events.Resize) -> None:
        """Another size."""
        self._draw()

    def follow(self, _view: View) -> None:
        """The clock went on."""
        self._draw()

    def check_action(self, action: str, _parameters: tuple[object, ...]) -> bool | None:
        """Only what is there can be taken out."""
        return bool(self._texts) if action in ("take_out", "move") else True

    def action_add(self) -> None:
        """Try the change that is written, once the field has taken up every key before this one."""
        self._field.call_later(self._add)

    def _add(self) -> None:
        text = " ".join(self._field.value.split())
        if not text or self._trial.is_reckoning:
            return
        self._trying, self._problem = text, ""
        self._trial.put(self._work((*self._texts, text)))
        self._draw()

    def action_complete(self) -> None:
        """Take what all that fits begins with; where that is nothing more, one after the other."""
        self._field.call_later(self._complete)

    def _complete(self) -> None:
        field = self._field
        taken = self._completing.taken(field.value, completions(field.value, self._vocabulary))
        if taken is None:
            return
        field.value = taken
        field.cursor_position = len(taken)

    def action_move(self, by: int) -> None:
        """Another change of the list."""
        self._at = min(len(self._texts) - 1, max(0, self._at + by))
        self._draw()

    def on_face_clicked(self, message: Face.Clicked) -> None:
        """A change was chosen with the mouse."""
        self._at = min(int(message.item), len(self._texts) - 1)
        self._draw()

    def action_take_out(self) -> None:
        """Take the change in hand out of the list; it comes back to the line where that is empty."""
        text = self._texts[self._at]
        self._texts = (*self._texts[: self._at], *self._texts[self._at + 1 :])
        self._at = max(0, min(self._at, len(self._texts) - 1))
        if not self._field.value.strip():
            self._field.value = text
            self._field.cursor_position = len(text)
        self._problem = ""
        self._renew()
        self._arrange()

    def action_scroll(self, by: int) -> None:
        """Move the figures."""
        self._scroll = max(0, self._scroll + 4 * by)
        self._draw()

    def action_close(self) -> None:
        """Back to the board; nothing was changed, and nothing typed is lost."""
        self.app.pop_screen()

    def on_input_changed(self, _event: Input.Changed) -> None:
        """What was wrong belongs to what was written then."""
        if " ".join(self._field.value.split()) != self._trying:
            self._problem = ""
        self._draw()

    @property
    def _field(self) -> InertInput:
        return self.query_one("#change", InertInput)

    def _work(self, texts: tuple[str, ...]) -> Callable[[], Supposed]:
        session = self._desk.session

        def work() -> Supposed:
            situation = session.situation()
            ground = Ground(craft=situation.craft, plan=situation.plan, now_s=situation.at_s)
            before, after = session.whatif(read_changes(texts, ground), situation)
            return Supposed(texts=texts, compared=difference(before, after))

        return work

    def _renew(self) -> None:
        if self._texts:
            self._inquiry.put(self._work(self._texts))
        else:
            self._inquiry.forget()

    def _tried(self) -> None:
        """A change that holds is taken into the list; one that does not stays where it was written."""
        supposed = self._trial.answer
        if self._trial.problem or supposed is None:
            self._problem = self._trial.problem
        elif supposed.texts == (*self._texts, self._trying):
            self._texts, self._at, self._scroll = supposed.texts, len(supposed.texts) - 1, 0
            if " ".join(self._field.value.split()) == self._trying:
                self._field.value = ""
            self._renew()
        self._trial.forget()
        self._arrange()

    def _answered(self) -> None:
        self._draw()

    def _beat(self) -> None:
        if not self.is_active:
            return
        if self._texts and self._inquiry.is_due and not self._trial.is_reckoning:
            self._renew()
        self._draw()

    def _arrange(self) -> None:
        self.refresh_bindings()
        self._draw()
        self.call_after_refresh(self._draw)

    def _draw(self) -> None:
        height = 1 + max(1, min(len(self._texts), LIST_ROWS if self.size.height >= 30 else LIST_ROWS - 1))
        changes = self.query_one("#changes", Face)
        if changes.styles.height is None or changes.styles.height.value != height:
            changes.styles.height = height
        typed = self._field.value
        found = completions(typed, self._vocabulary)
        state = Whatif(
            look=self._look,
            texts=self._texts,
            at=self._at,
            supposed=self._inquiry.answer,
            standing=(self._trial if self._trial.is_reckoning else self._inquiry).standing(),
            form=form_of(typed),
            completions=tuple(_next_word(typed, one) for one in found),
            problem=self._problem,
            scroll=self._scroll,
        )
        for name in ("#changes", "#hint", "#effect"):
            self.query_one(name, Face).show(state)


def _next_word(typed: str, completion: str) -> str:
    """The part of a completed line that is not written yet, whole words."""
    kept = typed.lstrip()
    while kept and not completion.startswith(kept):
        kept = kept[:-1]
    begin = kept.rfind(" ") + 1
    return completion[begin:].strip()
