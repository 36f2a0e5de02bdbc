"""Children that plan for the page: one that dies is told of."""

import asyncio
import multiprocessing
import threading
import time

import pytest

pytest.importorskip("starlette")

from test_edit_server import LOT

from siteplan.web.engine import ENDED, LAST, SHARES, Engine, new_child
from siteplan.web.stages import Job
from siteplan.web.work import DONE, PLAN, work

PATIENCE_S = 30


@pytest.mark.parametrize("gone", [False, True], ids=["dying", "dead"])
def test_a_child_that_dies_is_told_of_and_nobody_waits(tmp_path, gone):
    (tmp_path / "site.toml").write_text("", encoding="utf-8")

    async def killed():
        told, heard = [], asyncio.Event()

        def hear(number, stage, what):
            told.append((number, stage, what))
            heard.set()

        engine = Engine(hear)
        try:
            number = engine.plan(Job(str(tmp_path / "site.toml")))
            await asyncio.wait_for(heard.wait(), PATIENCE_S)  # faults of an empty file
            child = engine._busy.process
            if gone:  # asked in the same breath: nobody on the loop has heard of it yet
                child.kill()
                time.sleep(0.2)
                answer = await engine.ask("sheets")
            else:
                asked = asyncio.ensure_future(engine.ask("sheets"))
                await asyncio.sleep(0)
                child.kill()
                answer = await asyncio.wait_for(asked, PATIENCE_S)
            while told[-1] != (number, "faults", [ENDED]):
                await asyncio.sleep(0.02)
        finally:
            engine.close()
        return answer

    assert "fault" in asyncio.run(asyncio.wait_for(killed(), 2 * PATIENCE_S))


def test_a_child_that_died_while_it_waited_is_replaced(tmp_path):
    (tmp_path / "site.toml").write_text("", encoding="utf-8")

    async def planned():
        heard = asyncio.Event()
        spare = new_child()
        spare.kill()
        engine = Engine(lambda *_told: heard.set(), spare)
        try:
            engine.plan(Job(str(tmp_path / "site.toml")))
            await asyncio.wait_for(heard.wait(), PATIENCE_S)
        finally:
            engine.close()
        return heard.is_set()

    assert asyncio.run(asyncio.wait_for(planned(), 2 * PATIENCE_S))


@pytest.mark.parametrize(("processors", "children"), [(1, 1), (2, 3)])
def test_a_second_processor_has_others_work_beside_and_the_next_change_ends_all(
    tmp_path, processors, children
):
    (tmp_path / "site.toml").write_text("", encoding="utf-8")

    async def begun():
        engine = Engine(lambda *_told: None, processors=processors)
        try:
            engine.plan(Job(str(tmp_path / "site.toml")))
            first = [engine._busy.process, *(each.process for each in engine._beside.values())]
            engine.plan(Job(str(tmp_path / "site.toml")))
            return len(first), [process.is_alive() for process in first]
        finally:
            engine.close()

    number, alive = asyncio.run(asyncio.wait_for(begun(), PATIENCE_S))
    assert number == children
    assert not any(alive)


@pytest.mark.parametrize("share", SHARES)
def test_who_worked_beside_goes_on_with_the_next_lot_and_tells_what_a_new_one_tells(
    tmp_path, monkeypatch, share
):
    monkeypatch.setattr("siteplan.web.work._work_gently", lambda: None)
    file = tmp_path / "site.toml"
    text = LOT.replace('system = "vertical"', 'order = ["vertical", "horizontal"]')
    moved = text.replace("[15, 20]", "[60, 120]")

    def told_of(*texts):
        here, there = multiprocessing.Pipe()
        child = threading.Thread(target=work, args=(there,), daemon=True)
        child.start()
        for number, each in enumerate(texts):
            file.write_text(each, encoding="utf-8")
            here.send((PLAN, (number, Job(str(file), share=share))))
            told = []
            while not told or told[-1][1] != DONE:
                assert here.poll(PATIENCE_S)
                told.append(here.recv())
        here.close()
        child.join(PATIENCE_S)
        return [(stage, what) for _, stage, what in told]

    assert told_of(text, moved) == told_of(moved) != told_of(text)


def test_a_child_at_rest_plans_the_next_lot_and_tells_what_a_new_one_tells(tmp_path):
    file = tmp_path / "site.toml"
    moved = LOT.replace("[15, 20]", "[60, 120]")
    assert moved != LOT

    async def planned():
        told, heard = {}, asyncio.Event()

        def hear(_, stage, what):
            told[stage] = what
            if stage in LAST:
                heard.set()

        engine = Engine(hear, processors=1)

        async def plan_of(text):
            file.write_text(text, encoding="utf-8")
            heard.clear()
            engine.plan(Job(str(file)))
            await asyncio.wait_for(heard.wait(), PATIENCE_S)
            return told["plan"]["told"], engine._busy.process.pid

        try:
            first = await plan_of(LOT)
            second = await plan_of(moved)
            engine.end_job()
            anew = await plan_of(moved)
            # one that is asked for something is not at rest: the next change ends it
            asked = asyncio.ensure_future(engine.ask("sheets"))
            await asyncio.sleep(0)
            other = await plan_of(LOT)
            await asked
        finally:
            engine.close()
        return first, second, anew, other

    first, second, anew, other = asyncio.run(asyncio.wait_for(planned(), 4 * PATIENCE_S))
    assert first[1] == second[1] != anew[1] != other[1]
    assert first[0] != second[0] == anew[0]
    assert other[0] == first[0]
