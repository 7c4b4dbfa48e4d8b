//! How often somebody may try: passwords, owners' answers, photos.
//!
//! Each limit is a leaking bucket (the generic cell rate algorithm) by key: a name that signs in, an
//! owner's link. What is refused is told with how long to wait, and nothing is changed by it.

use std::num::NonZeroU32;
use std::time::Duration;

use governor::clock::{Clock, DefaultClock};
use governor::{DefaultKeyedRateLimiter, Quota};

use crate::error::Oops;

/// Most keys remembered before those that are full again are forgotten.
const MOST_KEYS: usize = 10_000;

/// One limit, for each key by itself.
pub(crate) struct Throttle {
    limiter: DefaultKeyedRateLimiter<String>,
    clock: DefaultClock,
}

impl Throttle {
    /// `at_once` tries, then one more each `every`.
    fn new(at_once: u32, every: Duration) -> Self {
        let burst = NonZeroU32::new(at_once).expect("at least one try");
        let quota = Quota::with_period(every).expect("a time to wait").allow_burst(burst);
        Self { limiter: DefaultKeyedRateLimiter::keyed(quota), clock: DefaultClock::default() }
    }

    /// Counts a try.
    pub(crate) fn tries(&self, key: &str) -> Result<(), Oops> {
        if self.limiter.len() > MOST_KEYS {
            self.limiter.retain_recent();
        }
        self.limiter.check_key(&key.to_owned()).map_err(|refused| {
            let wait = refused.wait_time_from(self.clock.now());
            Oops::TooOften { seconds: wait.as_secs() + 1 }
        })
    }
}

/// Every limit of the app.
pub(crate) struct Throttles {
    /// Passwords tried for a name.
    pub(crate) passwords: Throttle,
    /// Answers by an owner's link: a person types one in some seconds, a phone back on the network sends
    /// what it kept at once.
    pub(crate) answers: Throttle,
    /// Photos by an owner's link.
    pub(crate) photos: Throttle,
}

impl Throttles {
    /// As the app uses them. Chosen by us.
    pub(crate) fn usual() -> Self {
        Self {
            passwords: Throttle::new(6, Duration::from_secs(20)),
            answers: Throttle::new(120, Duration::from_millis(250)),
            photos: Throttle::new(20, Duration::from_secs(5)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn after_some_tries_one_waits_and_others_do_not() {
        let throttle = Throttle::new(3, Duration::from_secs(60));
        for _ in 0..3 {
            throttle.tries("Robin").expect("within the limit");
        }
        let error = throttle.tries("Robin").expect_err("too often");
        assert!(matches!(error, Oops::TooOften { seconds: 1..=61 }), "{error}");
        throttle.tries("Kit").expect("another key");
    }
}
