"""How much one request may ask for. Whoever meets a limit is told its number; none of them changes an answer."""

KIB = 1024

# A full order is 600 bytes; this is a hundred of them, and still read in a few milliseconds.
MAX_BODY_BYTES = 64 * KIB
# A stock plan's request holds a whole rack: 500 boards with ten defects each, 500 parts, or 20 orders.
STOCK_BODY_BYTES = 8 * MAX_BODY_BYTES
# An order is four deep (the skirt of its base); twice that leaves room, and no nesting can exhaust the stack.
MAX_DEPTH = 2 * 4
# Values in one body: ten full orders. Each wrong one may cost a search for names like it.
MAX_VALUES = 10 * 60
# The same of a stock plan: 500 boards with ten defects each and 500 parts, every field given.
STOCK_VALUES = 25_000
# A price table's lists: every combination may be an alternative of one list.
TABLE_BODY_BYTES = STOCK_BODY_BYTES
TABLE_VALUES = STOCK_VALUES
# Combinations of one price table: some seconds of work, some megabytes of rows.
MAX_COMBINATIONS = 20_000
# Rows of a table that is made whole, with an entity tag, before it is sent; longer ones are sent as they are made.
WHOLE_ROWS = 500
# Rows of a table as a page, which somebody reads.
PAGE_ROWS = 200
# One text: names, lengths and dates have at most 60 characters, but a query holds a list of lines in one text.
MAX_STRING_CHARS = 400
# Entries of one list, such as the columns picked from an answer.
MAX_LIST_ITEMS = 100
# RFC 8259 section 6 and RFC 7493 section 2.2: larger whole numbers do not survive every reader of JSON.
MAX_EXACT_INT = 2**53 - 1

# The server refuses a longer request line with a page of its own; 94 bytes are left for method, path and version.
MAX_QUERY_BYTES = 4094 - 94
# A fully specified order has about 45 parameters.
MAX_PARAMETERS = 2 * 50

# Faults listed in one answer; the rest is counted. Nobody mends more at a time.
MAX_FAULTS = 20
# A fault told in one spreadsheet cell.
MAX_INLINE_CHARS = 250
# An access key: far longer than any that is issued, short enough to hash at once.
MAX_KEY_CHARS = 200
# A request id, which is repeated in a header and in a log line.
MAX_REQUEST_ID_CHARS = 64
