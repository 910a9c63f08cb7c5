//! What to do at the machine: tool, nut, wheels, passes, wires, survey. Knows no pictures and no drawings.
