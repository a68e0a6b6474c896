"""The board's sums, pure: no clock, files, environment or framework; no randomness.

It uses the standard library and two packages: highspy solves the linear programs of stock plans
(``stock/master.py``), numpy weighs their patterns (``stock/patterns.py``). Both are loaded with the first stock plan.

Units everywhere: mm, mm2, m2, m3, ml, g, kg, %, degC, min, h, N, MPa. Money is ``Decimal`` in the shop's currency.

A wing is a package by subject, or one file where that is enough: each sees only those before it. DEVELOPERS.md draws
them, ``tests/house/test_imports.py`` holds them to it, and ``plan`` shows all that is computed on one page.
"""
