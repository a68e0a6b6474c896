"""Facts: what nature, standards and the trade say, whoever the maker is.

The files are read once at start by ``tables.load_tables`` into ``domain.basics.facts.Tables``. Flat numbers are CSV
with the unit in the header; records with text are TOML. Every row has a ``source`` (ids of sources.toml
separated by ``"; "``), a ``locator`` (table, page, equation) and a ``confidence``: verified-in-text, derived,
from-memory or house. Preview colours are house choices.

A file's columns are the fields of its fact in ``domain.basics.facts``, in their order: ``rows`` reads them by type and
metadata, ``records`` has what must hold besides, ``tables`` says which fact is in which file.

What this room may not do: hold a maker's choices (prices, machines, habits belong to the ``shop`` room),
compute (that is ``domain``), name a brand, fill a gap without saying so in ``confidence`` and ``note``, or read
a file during a request. It imports ``domain`` and the standard library only.

A name that more than one timber goes by (mahogany, rosewood, sycamore, cherry) stands in aliases.csv once for each of
them, on rows that follow each other; ``also`` names the timbers outside the table that bear it too. Whoever asks for it
is told all of them and must choose.
"""
