//! The `forerun` command.

fn main() {}
