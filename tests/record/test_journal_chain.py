"""The hashed bytes: SHA-256 itself, and that no two entries can share them."""

from __future__ import annotations

import hashlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from console.record.chain import FIELDS, entry_hash, genesis_hash, netstring, sha256_hex

_FIELDS = st.lists(st.binary(max_size=6), min_size=len(FIELDS), max_size=len(FIELDS))


def test_sha_256_gives_the_digests_of_the_standards_own_examples() -> None:
    # The one-block and two-block examples to FIPS 180-4, printed in FIPS 180-2, appendix B (from memory).
    assert sha256_hex(b"abc") == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    two_blocks = b"abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq"
    assert sha256_hex(two_blocks) == "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1"


def test_an_entrys_hash_is_over_the_documented_bytes() -> None:
    fields = [b"7", b"id-7", *[b""] * 9, b"0" * 64]
    written = b"25:endurance journal 1 entry,1:7,4:id-7," + b"0:," * 9 + b"64:" + b"0" * 64 + b","
    assert entry_hash(fields) == hashlib.sha256(written).hexdigest()


@given(_FIELDS, _FIELDS)
def test_two_entries_have_the_same_hash_only_if_every_field_is_the_same(
    one: list[bytes], other: list[bytes]
) -> None:
    assert (entry_hash(one) == entry_hash(other)) == (one == other)


@given(_FIELDS, st.integers(0, len(FIELDS) - 2))
def test_a_byte_that_moves_into_the_next_field_changes_the_hash(fields: list[bytes], at: int) -> None:
    here = fields[at] + b"x"
    moved = [*fields[:at], here[:-1], here[-1:] + fields[at + 1], *fields[at + 2 :]]
    assert entry_hash([*fields[:at], here, *fields[at + 1 :]]) != entry_hash(moved)


@given(st.lists(st.binary(max_size=12), max_size=5))
def test_netstrings_can_be_taken_apart_again_in_one_way(fields: list[bytes]) -> None:
    rest, found = b"".join(netstring(field) for field in fields), []
    while rest:
        length, _, rest = rest.partition(b":")
        field, comma, rest = rest[: int(length)], rest[int(length) :][:1], rest[int(length) + 1 :]
        assert comma == b","
        found.append(field)
    assert found == fields


def test_the_first_previous_hash_depends_on_scenario_and_epoch() -> None:
    hashes = {
        genesis_hash("tern", "2041-06-02T03:10:00.000000Z"),
        genesis_hash("tern2", "041-06-02T03:10:00.000000Z"),
        genesis_hash("tern", "2041-06-02T03:10:00.000001Z"),
        genesis_hash("skua", "2041-06-02T03:10:00.000000Z"),
    }
    assert len(hashes) == 4


def test_an_entry_with_a_field_too_few_has_no_hash() -> None:
    with pytest.raises(ValueError, match="12 hashed fields, not 11"):
        entry_hash([b""] * 11)
