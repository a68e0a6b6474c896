"""What every wing stands on: faults and advice, arithmetic, amounts, fact tables, names, trade measures, the shop."""
