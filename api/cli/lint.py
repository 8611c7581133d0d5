"""Warnings about knowledge that holds together and yet lacks something."""

from __future__ import annotations

from collections.abc import Iterator

from diagnose.graph import cause_graph, upstream
from knowledge.loader import Knowledge

FEWEST_WAYS = 3


def warnings(knowledge: Knowledge) -> Iterator[str]:
    """Yield a line for each fault that no check finds, symptom with few causes, idle mechanism."""
    graph = cause_graph(knowledge)
    findings = [node for node, about in graph.nodes(data=True) if about["kind"] == "finding"]
    found = upstream(graph, findings)
    for fault in knowledge.faults:
        if fault not in found:
            yield f"fault '{fault}': no check looks for it or for anything it brings about"
    raising = {symptom for card in knowledge.stop_cards.values() for symptom in card.raised_by}
    for symptom in knowledge.symptoms:
        if symptom in raising:
            continue  # seen for what it is; it brings a card, whatever fault is behind it
        ways = len(upstream(graph, [symptom]))
        if ways < FEWEST_WAYS:
            count = "no fault brings" if ways == 0 else f"only {ways} of the faults bring"
            yield f"symptom '{symptom}': {count} it about"
    for mechanism in knowledge.mechanisms:
        if graph.in_degree(mechanism) == 0:
            yield f"mechanism '{mechanism}': nothing leads to it"
