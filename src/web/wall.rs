//! The clock on the wall: what time it is, for everything this server does.
//!
//! Every handler asks [`App::now`](super::App::now) and hands the answer on, so a
//! chill of half an hour can be watched in a minute: whoever serves from within a
//! program of their own keeps a copy of the wall and turns its hands. The built
//! server keeps none, and its wall is the system's clock.

use std::sync::Arc;
use std::sync::atomic::{AtomicI64, Ordering};

use time::{Duration, OffsetDateTime};

/// A clock that goes as the system's does, and can be put forward.
#[derive(Clone, Debug, Default)]
pub struct Wall {
    ahead_ms: Arc<AtomicI64>,
}

impl Wall {
    /// What time it is, UTC.
    #[must_use]
    pub fn now(&self) -> OffsetDateTime {
        OffsetDateTime::now_utc() + Duration::milliseconds(self.ahead_ms.load(Ordering::Relaxed))
    }

    /// Puts the clock forward (back, where `by` is negative), to the millisecond.
    /// Every copy of it goes along.
    pub fn turn(&self, by: Duration) {
        let by = i64::try_from(by.whole_milliseconds()).unwrap_or(0);
        self.ahead_ms.fetch_add(by, Ordering::Relaxed);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_copy_is_turned_with_it_and_nobody_elses_is() {
        let wall = Wall::default();
        let copy = wall.clone();
        wall.turn(Duration::hours(3));
        wall.turn(-Duration::minutes(30));
        let ahead = copy.now() - Wall::default().now();
        assert!((ahead - Duration::minutes(150)).abs() < Duration::seconds(30), "{ahead}");
    }
}
