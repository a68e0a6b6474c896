"""What it costs and what is asked for it: wood, hours, fees, terms, price, risk."""
