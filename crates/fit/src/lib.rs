//! From outlines to a thread form with uncertainties. Reads no files, knows no standards.
