//! Any file is an order, a glass book or shapes, or is refused in good order; an order that is
//! written reads back the same.
#![no_main]

use libfuzzer_sys::fuzz_target;
use shop::{read_book, read_order, read_shapes, write_order};

fuzz_target!(|file: &[u8]| {
    for name in ["order", "order.json"] {
        match read_order(file, name) {
            Ok(order) => {
                let written = write_order(&order);
                assert_eq!(read_order(written.as_bytes(), "order.toml").as_ref(), Ok(&order));
            }
            Err(fault) => {
                assert!((1..=20).contains(&fault.faults.len()));
                assert!(fault.faults.iter().all(|fault| fault.line > 0 && fault.column > 0));
                assert!(fault.to_string().starts_with(name));
            }
        }
        let _ = read_book(file, name).map_err(|fault| fault.to_string());
        let _ = read_shapes(file, name).map_err(|fault| fault.to_string());
    }
});
