//! Drawings in millimetres on paper as PDF, SVG and DXF. Measures nothing.
