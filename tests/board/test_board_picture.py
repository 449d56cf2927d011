"""The picture for the documents is the board itself, and points nowhere outside."""

from __future__ import annotations

import re
from html import unescape

from console.board.picture import board_picture


def text_of(svg):
    return unescape(" ".join(re.findall(r"<text[^>]*>(.*?)</text>", svg))).replace("\xa0", " ")


def test_the_picture_shows_the_board(session):
    shown = text_of(board_picture(session))
    for words in ("WATER RUNS OUT FIRST", "water: figures", "water: ledger until need", "quit"):
        assert words in shown, words


def test_keys_can_be_pressed_before_it_is_taken(session):
    assert "absorbent: figures" in text_of(board_picture(session, keys=["down"]))


def test_the_picture_points_to_no_other_host(session):
    addresses = set(re.findall(r"https?://[^\"')\s<]+", board_picture(session)))
    assert addresses == {"http://www.w3.org/2000/svg"}


def test_the_same_board_gives_the_same_picture(session):
    assert board_picture(session) == board_picture(session)
