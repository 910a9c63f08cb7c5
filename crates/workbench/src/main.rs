//! The `flanklight` program.
fn main() {}
