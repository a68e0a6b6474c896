"""The board's sums, pure: standard library only, no clock, files, randomness or framework.

Units everywhere: mm, mm2, m2, m3, ml, g, kg, %, degC, min, h, N, MPa. Money is ``Decimal`` in the shop's currency.
Imports run one way, from left to right: errors, arithmetic, advice, facts, names, trade, shop, amounts, margins,
order, shapes, fit, geometry, accuracy, timber, movement, flatness, support, verdict, cutting, joints, lumber,
stock.boards, stock.replay, stock.wanted, stock.offer, stock.given, stock.benches, stock.suitable, stock.lattice,
stock.patterns, stock.layouts, stock.start, stock.tasks, stock.few, stock.improve, stock.master, stock.search,
stock.planning, stock.findings, stock, materials, finishing, chance, hours, schedule.working, schedule.network,
schedule.placing, schedule.slack, schedule, schedule.rescue, parcels, shipping, packing, packing_list, transit,
limits, listings, compliance, risk, costs, fees, terms, pricing, woodcost, asked, construction, completion,
remedies, plan, variation, sensitivity, suggestions.limits, suggestions.moves, suggestions.hoard,
suggestions.search, suggestions.nearest, suggestions.told, suggestions.suggest, suggestions, explain.steps,
explain.mass, explain.board, explain.cuts, explain.buying, explain.seasons, explain.work, explain.selling,
explain. A module imports only from its left; only ``plan`` and ``explain`` see all.
"""
