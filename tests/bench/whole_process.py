"""Times two commands as whole processes in turn (A B A B …) and gives the ratio pair by pair.

Machines drift; a ratio of two things measured side by side does not. Nothing here judges.
"""

from __future__ import annotations

import os
import pty
import select
import subprocess
import sys
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from statistics import median


@dataclass(frozen=True)
class Ratio:
    """What a paired run measured."""

    first_s: float
    second_s: float
    ratio: float
    pairs: int

    def line(self, name: str, target: str) -> str:
        return (
            f"{name}: {self.ratio:.2f} (target {target}; medians {self.first_s * 1e3:.0f} ms and "
            f"{self.second_s * 1e3:.0f} ms over {self.pairs} pairs)"
        )


def paired(first: Callable[[], float], second: Callable[[], float], pairs: int) -> Ratio:
    """The median of the ratios first/second over some pairs, after one warm-up of each."""
    first(), second()
    measured = [(first(), second()) for _ in range(pairs)]
    return Ratio(
        first_s=median(one for one, _ in measured),
        second_s=median(other for _, other in measured),
        ratio=median(one / other for one, other in measured),
        pairs=pairs,
    )


def run_s(words: Sequence[str]) -> float:
    """Wall seconds from start to end of a Python process."""
    begin = time.perf_counter()
    subprocess.run([sys.executable, *words], check=True, stdout=subprocess.DEVNULL, env=as_installed())
    return time.perf_counter() - begin


def as_installed() -> dict[str, str]:
    """The environment, but with compiled modules kept on the disk, as any installed program has them."""
    return {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}


def seen_s(words: Sequence[str], sign: bytes, environment: dict[str, str]) -> float:
    """Wall seconds until a Python process in a 120 x 36 terminal has written some bytes; it is then ended."""
    child, terminal = pty.fork()
    if child == 0:
        os.execvpe(sys.executable, [sys.executable, *words], {**as_installed(), **environment})
    _resize(terminal)
    begin = time.perf_counter()
    seen = b""
    try:
        while sign not in seen:
            if time.perf_counter() - begin > 30.0:
                raise TimeoutError(f"{sign!r} did not come; the last of what came: {seen[-500:]!r}")
            if select.select([terminal], [], [], 0.5)[0]:
                seen += os.read(terminal, 65536)
        return time.perf_counter() - begin
    finally:
        os.kill(child, 15)
        _drain(terminal)
        os.waitpid(child, 0)
        os.close(terminal)


def _resize(terminal: int) -> None:
    import fcntl
    import struct
    import termios

    fcntl.ioctl(terminal, termios.TIOCSWINSZ, struct.pack("HHHH", 36, 120, 0, 0))


def _drain(terminal: int) -> None:
    """Read what the ending program still writes, so that it does not wait for us."""
    try:
        while select.select([terminal], [], [], 2.0)[0] and os.read(terminal, 65536):
            pass
    except OSError:
        return  # the child's end of the terminal is closed: it has ended
