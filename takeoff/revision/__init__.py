"""What a later issue of a drawing changed: rooms, openings, quantities, hours and price, side by side."""
