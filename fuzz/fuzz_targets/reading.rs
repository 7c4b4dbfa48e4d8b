//! Any words are a clear reading or a message, and a reading that is shown reads back.
#![no_main]

use geometry::Length;
use libfuzzer_sys::fuzz_target;
use survey::{Unit, read_tape, show, typeset};

fuzz_target!(|words: &str| {
    for &unit in Unit::ALL {
        let reading = match read_tape(words, unit) {
            Ok(reading) => reading,
            Err(error) => {
                assert!(!error.to_string().is_empty());
                continue;
            }
        };
        assert_eq!(reading.words, words.trim());
        assert!(reading.length.abs() <= Length::from_mm(10_000.0));
        assert!(reading.graduation > Length::ZERO);
        // The words kept read the same.
        assert_eq!(read_tape(&reading.words, unit).as_ref(), Ok(&reading));
        for &shown_in in Unit::ALL {
            let shown = show(reading.length, shown_in, reading.graduation);
            let set = typeset(reading.length, shown_in, reading.graduation);
            let [again, set] = [shown, set].map(|shown| {
                // Rounding to a graduation may go past the longest reading by half of one.
                read_tape(&shown, unit).map(|reading| reading.length).ok()
            });
            assert_eq!(again, set);
            if let Some(again) = again {
                assert_eq!(
                    show(again, shown_in, reading.graduation),
                    show(reading.length, shown_in, reading.graduation)
                );
            } else {
                assert!(reading.length.abs() > Length::from_mm(9_000.0));
            }
        }
    }
});
