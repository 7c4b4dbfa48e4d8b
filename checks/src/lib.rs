//! Test-only package: see `tests/`, one file for each outside source.

pub mod python;
