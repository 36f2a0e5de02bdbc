"""Tables of groups of circuits: what the pipe fitter reads of run-outs and loops."""

from pipe_fields import GPM, bores, exchanger

from siteplan.layout.piping.pipes import with_pipes
from siteplan.sheet.tables.circuits import circuit_table
from siteplan.sheet.tables.elements import element_table
from siteplan.sheet.tables.groups import group_table, short_group_table
from siteplan.units.systems import US

DIVIDED = with_pipes(bores(13), exchanger(circuits={"flow_m3s": 39 * GPM}))


def column(table, name):
    place = [shown.name for shown in table.columns].index(name)
    return [row[place] for row in table.rows]


def test_a_group_lists_its_circuits_its_bores_and_its_flow():
    table = group_table(DIVIDED, US)
    assert column(table, "id") == ["G1", "G2"]
    assert column(table, "circuits") == ["7: CIR-1 to 7", "6: CIR-8 to 13"]
    assert column(table, "elements")[1] == "B8, B9, B10, B11, B12, B13"
    assert column(table, "flow") == ["21.0 gpm", "18.0 gpm"]
    # 7 and 6 circuits of 1 in at 2 ft/s, 5.66 gpm each: 39.6 and 33.95, rounded up
    assert column(table, "purge") == ["39.7 gpm", "34.0 gpm"]
    # to the first bore 6 m, to the eighth 48 m
    assert column(table, "length") == ["20 ft", "158 ft"]
    assert column(short_group_table(DIVIDED, US), "flow") == ["21.0 gpm", "18.0 gpm"]


def test_without_a_flow_nothing_of_it_is_said():
    table = group_table(with_pipes(bores(13), exchanger()), US)
    assert set(column(table, "flow") + column(table, "head") + column(table, "fill")) == {
        "not stated"
    }
    assert set(column(table, "pipe")) == {"2, by flow"}


def test_circuits_and_bores_are_listed_with_their_group():
    assert column(circuit_table(DIVIDED, US), "group") == ["G1"] * 7 + ["G2"] * 6
    assert column(element_table(DIVIDED, US, None), "group") == ["G1"] * 7 + ["G2"] * 6
    whole = with_pipes(bores(12), exchanger())
    for table in (circuit_table(whole, US), element_table(whole, US, None)):
        assert "group" not in [shown.name for shown in table.columns]
