"""What importing golfphys loads, and that its public names are what its register says."""

import functools
import subprocess
import sys

import grimp
from conftest import ROOT, refused

import golfphys

MOST_LEVELS = 7
HEAVY = {"numba", "sympy", "matplotlib", "ipywidgets", "pandas", "scipy", "IPython", "arviz_stats"}


def test_import_loads_nothing_heavy() -> None:
    code = "import sys, golfphys; dir(golfphys); print(*sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True)
    assert {name.partition(".")[0] for name in done.stdout.split()} & (HEAVY | {"numpy"}) == set()


def test_every_public_name_is_found_and_an_unknown_one_is_answered_with_the_nearest() -> None:
    for name in golfphys.__all__:
        value = getattr(golfphys, name)
        assert value is not None, name
        assert getattr(value, "__module__", "golfphys").startswith("golfphys"), name
        assert name in dir(golfphys)
    refused(r"no 'Grean'.*Green", lambda: golfphys.Grean, AttributeError)


def levels(graph: grimp.ImportGraph, room: str) -> int:
    files = {room, *graph.find_descendants(room)}

    @functools.cache
    def depth(name: str) -> int:
        below = graph.find_modules_directly_imported_by(name) & files - {name}
        return 1 + max(map(depth, below), default=0)

    return max(map(depth, files))


def test_rooms_are_seen_through_quickly() -> None:
    graph = grimp.build_graph("golfphys", exclude_type_checking_imports=False)
    for package in [name for name in graph.modules if graph.find_children(name)]:
        for imported in graph.find_modules_directly_imported_by(package):
            graph.remove_import(importer=package, imported=imported)
    found = {room: levels(graph, room) for room in graph.find_children("golfphys")}
    assert {room: depth for room, depth in found.items() if depth > MOST_LEVELS} == {}
