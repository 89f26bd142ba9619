"""Reads XJDF as plain XML, without its namespace once that is known to be the right one."""

from __future__ import annotations

from typing import Any
from xml.etree import ElementTree as ET

NAMESPACE = "{http://www.CIP4.org/JDFSchema_2_0}"


def named(data: bytes) -> Any:
    """The root, tags without the namespace; every one has to be of it."""
    root = ET.fromstring(data)
    for each in root.iter():
        assert each.tag.startswith(NAMESPACE)
        each.tag = each.tag.removeprefix(NAMESPACE)
    assert root.tag == "XJDF"
    assert root.get("Version") == "2.1"
    return root


def resources(data: bytes, name: str) -> list[Any]:
    """The resources of all sets of a name."""
    pools = [pool for pool in named(data).findall("ResourceSet") if pool.get("Name") == name]
    return [each for pool in pools for each in pool.findall("Resource")]


def mm(points: str | None) -> list[float]:
    """Lengths in points, as mm."""
    assert points is not None
    return [float(each) / 72 * 25.4 for each in points.split()]
