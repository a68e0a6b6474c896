"""The board's arithmetic, pure: standard library only, no clock, files, randomness or framework.

Units everywhere: mm, mm2, m2, m3, ml, g, kg, %, degC, min, h. Money is ``Decimal`` in the shop's currency.
Imports run one way, from left to right: errors, advice, facts, names, shop, order, geometry, accuracy, timber,
movement, cutting, materials, finishing, schedule, packing, compliance, pricing, asked, construction, completion, plan.
A module imports only from its left; only ``plan`` sees all.
"""
