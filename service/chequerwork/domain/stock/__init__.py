"""From which boards, cut how: the stock plan. ``boards`` holds its words, ``planning`` makes it."""
