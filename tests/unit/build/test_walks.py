"""A build is asked for its elements by kind, and for what stands behind one."""

from __future__ import annotations

from made_up_builds import build, outlet, read, run, tee

from gasdoc.build.model import Outlet, Regulator, Run


def test_elements_are_given_by_kind_and_by_what_they_stand_behind() -> None:
    far = {"regulator": {"id": "second", "outlet": "11 inH2O"}}
    made = read(
        build(
            run("5 ft", id="main", material="copper", type="L"),
            tee([outlet("Oven", "9000 Btu/h")], [far, run("3 ft", id="side"), outlet("Lamp", "2000 Btu/h")]),
        )
    ).build
    assert made is not None
    assert [node.id for node, _ in made.each(Run)] == ["main", "side"]
    assert [part.appliance.name for _, part in made.each(Outlet)] == ["Oven", "Lamp"]
    assert [node.id for node, _ in made.each(Regulator)] == ["second"]
    assert [node.id for node in made.behind("second")] == ["side", "lamp"]
    assert [node.id for node in made.behind("main") if node.kind == "outlet"] == ["oven", "lamp"]
    assert made.behind("lamp") == []


def test_each_element_has_its_zone_and_what_stands_before_it() -> None:
    far = {"regulator": {"id": "second", "outlet": "11 inH2O"}}
    made = read(
        build(
            run("5 ft", id="main", material="copper", type="L"),
            tee(
                [outlet("Oven", "9000 Btu/h")],
                [far, run("3 ft", id="side"), outlet("Lamp", "2000 Btu/h")],
                id="fork",
            ),
        )
    ).build
    assert made is not None
    assert [node.id for node in made.before("lamp")] == ["side", "second", "fork", "main"]
    assert list(made.before("main")) == []
    assert made.first == "regulator"
    fed = {"main": "regulator", "fork": "regulator", "oven": "regulator", "second": "regulator"}
    assert made.zone_of == fed | {"side": "second", "lamp": "second"}
