//! What was acknowledged stays, whatever happens to the program or its disk.

#![allow(clippy::unwrap_used, reason = "a test may stop at the first surprise")]

mod app;
mod full_disk;
mod kills;
