//! The `paneloft` command.
fn main() {}
