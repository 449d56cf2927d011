"""Which document knows the figures that begin with its name. Each is imported when it is first asked for."""

from __future__ import annotations

from console.engine.explain.book import NotAskedError
from console.engine.explain.figures import Document, Figures

ASK_CHANGES = "write what is supposed: --change 'load NAME off', or --keep LOAD --until TIME --restart AMOUNT"
ASK_MARGIN = "write which margin is to be reached: --margin 12h"


def document(figures: Figures, name: str) -> Document:
    """The figures of one document.

    Raises:
        NotAskedError: they go by a question, and it was not asked.
    """
    asked = figures.asked
    match name:
        case "options":
            from console.engine.explain.deciding.ways import Ways

            return Ways(figures)
        case "loss":
            from console.engine.explain.deciding.loss import Lost

            return Lost(figures)
        case "brief":
            from console.engine.explain.deciding.brief import Brief

            return Brief(figures)
        case "shed":
            if asked.shed is None:
                raise NotAskedError(ASK_MARGIN)
            from console.engine.explain.deciding.shed import Advice

            return Advice(figures, asked.shed)
    if asked.keep is not None:
        from console.engine.explain.deciding.keep import Kept

        return Kept(figures, asked.keep)
    if not asked.changes:
        raise NotAskedError(ASK_CHANGES)
    from console.engine.explain.deciding.whatif import changed

    return changed(figures, asked.changes, asked.words)
