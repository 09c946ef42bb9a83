"""Generic sizes of parts, for a first draft: what the trade has in general, no maker's catalogue.

All from memory.
"""

RING_INNER_MM = (80, 100, 110, 120, 130, 140, 150, 160, 180, 200, 220, 240)
RING_SECTION_MM = (14.0, 5.0)
"""Width across the leg and thickness along it of a stainless ring (12 to 15 by 4 to 6)."""
ROD_THREAD = "M6"
ROD_LENGTHS_MM = (40, 60, 80, 100, 120, 150, 200, 250, 300, 350, 400)
WIRE_DIAMETERS_MM = (1.5, 1.8, 2.0)
NUTS_MM = 8.0
"""Length of rod that nuts and washers take beyond the outer face of a ring."""
SOURCE = "generic sizes of the trade, from memory"
