"""The same search written with a general graph library (networkx), as a judge of speed and of the result.

A node is (event, choice, level of air); an edge is a step between two choices, with or without a breath. Dijkstra's
algorithm finds the cheapest way from before the first event to after the last. Nothing is left out and no bound is
used, which is what one would write without thinking about the problem.
"""

from __future__ import annotations

import networkx as nx

from reedpath.arrange.finding import question_of, table_for
from reedpath.arrange.lattice import Case, lattice_of
from reedpath.arrange.lungs import air_of
from reedpath.arrange.player import Player, Weights
from reedpath.arrange.relaxed import relaxed_costs
from reedpath.phrase import Phrase


def graph_cost(phrase: Phrase, case: Case, player: Player, weights: Weights) -> float:
    """Least cost of a performed phrase in one case, by the graph library."""
    table, question = table_for(player, weights), question_of(phrase)
    price = weights.fit.price_points
    layers = relaxed_costs(lattice_of(table, question, [case], price_points=price)).layers(0, table.columns["flow"])
    air = air_of(question.pace, weights, player)
    graph = nx.DiGraph()
    reached = {(0, level) for level, _ in air.starts}
    for level, points in air.starts:
        graph.add_edge("start", (0, 0, level), weight=points)
    for event, layer in enumerate(layers):
        following = set()
        for before, level in reached:
            starts = [(air.drifted(level, event), 0.0)]
            if event:
                starts.append((air.middle, air.breath_points[event]))
            for start, breath in starts:
                for here, flow in enumerate(layer.flow):
                    held, points = air.after(start, air.change(flow, event))
                    cost = layer.costs[before][here] + breath + points
                    edge = ((event, before, level), (event + 1, here, held))
                    if not graph.has_edge(*edge) or cost < graph.edges[edge]["weight"]:
                        graph.add_edge(*edge, weight=cost)
                    following.add((here, held))
        reached = following
    last = len(layers)
    for here, level in reached:
        graph.add_edge((last, here, level), "end", weight=0.0)
    return float(nx.dijkstra_path_length(graph, "start", "end"))
