"""In which line of a file each key stands, by its path: for whoever must say where a figure comes from."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from types import MappingProxyType

from console.scenario.yaml_text import YamlList, YamlMapping, YamlTree


def key_lines(tree: YamlTree) -> Mapping[str, int]:
    r"""The line of every key of a file, by the keys down to it.

    An item of a list is named by its number, and also by its ``name`` where it has one (``name#2`` for the
    second of a name): whoever uses the file's content knows names, and order of time is not that of the file.

    >>> from console.scenario.yaml_text import parse_yaml
    >>> dict(key_lines(parse_yaml("a: 1\nb:\n  - {name: burn, at: T+1h}", file="plan.yaml")))["b[burn].at"]
    3
    """
    lines: dict[str, int] = {}
    for path, line in _walk(tree, ""):
        lines.setdefault(path, line)
    return MappingProxyType(lines)


def _walk(tree: YamlTree, path: str) -> Iterator[tuple[str, int]]:
    if isinstance(tree, YamlMapping):
        for key, value in tree.items():
            below = f"{path}.{key}" if path else key
            yield below, tree.key_lines[key]
            yield from _walk(value, below)
    elif isinstance(tree, YamlList):
        seen: dict[str, int] = {}
        for index, (item, line) in enumerate(zip(tree, tree.item_lines, strict=True)):
            for name in (str(index), *_names(item, seen)):
                below = f"{path}[{name}]"
                yield below, line
                yield from _walk(item, below)


def _names(item: YamlTree, seen: dict[str, int]) -> tuple[str, ...]:
    """The name of an item, with its number where it is not the first of that name; none where it has none."""
    name = item.get("name") if isinstance(item, YamlMapping) else None
    if not isinstance(name, str):
        return ()
    name = name.strip()
    seen[name] = seen.get(name, 0) + 1
    return (name if seen[name] == 1 else f"{name}#{seen[name]}",)
