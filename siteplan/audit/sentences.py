"""Sentences of the sheet that tell figures, compared with what the layout drawn gives."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from siteplan.audit.figures import Rounding, alike
from siteplan.audit.marked import SheetBlock, blocks_of, plain
from siteplan.audit.words import block_words, drawn_fault
from siteplan.findings.model import Finding
from siteplan.layout.model import Layout
from siteplan.sheet.marks import CIRCUIT_WORDS, FLOW_WORDS, PIPES
from siteplan.sheet.tables.pipes import circuit_sentence, flow_sentence
from siteplan.units.model import UnitSystem


def sentence_findings(
    blocks: Sequence[SheetBlock], piped: Layout, unit: UnitSystem, rounding: Rounding
) -> Iterator[Finding]:
    """Each sentence on circuits and flow that says something else."""
    if not piped.circuits:
        return
    wanted = {
        CIRCUIT_WORDS: plain(circuit_sentence(piped, unit)),
        FLOW_WORDS: plain(flow_sentence(piped, unit)),
    }
    for block in blocks_of(blocks, PIPES):
        # the plan sheet tells both, a sheet of tables the flow beside its table of circuits
        names = wanted if block.sheet == 1 else (FLOW_WORDS,)
        for name in names:
            for said in block.said("", name):
                if not alike(said, wanted[name], rounding):
                    where = f"{block_words(PIPES)} on sheet {block.sheet}"
                    sentence = (
                        f"{where}: the sheet says: {said or 'nothing'}; what is drawn gives: "
                    )
                    yield drawn_fault(
                        "table", f"{sentence}{wanted[name]} Mend the one or the other."
                    )
