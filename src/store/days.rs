//! The days read last, folded and ready.
//!
//! An append needs the whole day to know what follows from an entry, and the
//! pages behind it ask for the same day again: folding it once will do. Nothing
//! but this process writes to the file, so what is kept here is what is there.

use std::collections::VecDeque;
use std::sync::{Arc, Mutex, MutexGuard};

use crate::brewday::BrewDay;

/// A brewer has one batch under way, rarely two; comparing opens a few more.
const KEPT: usize = 8;

/// A few folded days, the one used last at the back.
#[derive(Debug, Default)]
pub(super) struct Days(Mutex<Kept>);

#[derive(Debug, Default)]
struct Kept {
    days: VecDeque<Arc<BrewDay>>,
    /// Counts the changes, so that a day read before a change isn't kept after it.
    changes: u64,
}

/// The number of changes when a read began.
#[derive(Clone, Copy, Debug)]
pub(super) struct AsOf(u64);

impl Days {
    /// The day, where it is here, else the mark to hand to [`Days::keep`] with it.
    pub(super) fn get(&self, batch: i64) -> Result<Arc<BrewDay>, AsOf> {
        let mut kept = self.kept();
        let Some(day) = kept.take(batch) else { return Err(AsOf(kept.changes)) };
        kept.days.push_back(Arc::clone(&day));
        Ok(day)
    }

    /// Takes a day away, to be changed in its place: it is only copied while a
    /// page is being made from it.
    pub(super) fn take(&self, batch: i64) -> Option<BrewDay> {
        let day = self.kept().take(batch)?;
        Some(Arc::unwrap_or_clone(day))
    }

    /// Keeps a day that was taken and not changed after all.
    pub(super) fn put_back(&self, day: BrewDay) {
        self.kept().put(Arc::new(day));
    }

    /// Keeps a day that was read, unless something was written meanwhile.
    pub(super) fn keep(&self, day: &Arc<BrewDay>, as_of: AsOf) {
        let mut kept = self.kept();
        if kept.changes == as_of.0 {
            kept.put(Arc::clone(day));
        }
    }

    /// Keeps a day that was written.
    pub(super) fn changed(&self, day: Arc<BrewDay>) {
        let mut kept = self.kept();
        kept.changes += 1;
        kept.put(day);
    }

    /// Drops a day of which it isn't known how it stands.
    pub(super) fn forget(&self, batch: i64) {
        let mut kept = self.kept();
        kept.changes += 1;
        kept.take(batch);
    }

    fn kept(&self) -> MutexGuard<'_, Kept> {
        // A panic under this lock can only have lost a day, never bent one.
        self.0.lock().unwrap_or_else(std::sync::PoisonError::into_inner)
    }
}

impl Kept {
    fn take(&mut self, batch: i64) -> Option<Arc<BrewDay>> {
        let place = self.days.iter().position(|day| day.batch.id == batch)?;
        self.days.remove(place)
    }

    fn put(&mut self, day: Arc<BrewDay>) {
        self.take(day.batch.id);
        self.days.push_back(day);
        if self.days.len() > KEPT {
            self.days.pop_front();
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::brewday::testing::Day;

    fn day(batch: i64, name: &str) -> Arc<BrewDay> {
        let mut day = Day::new();
        day.batch.id = batch;
        day.batch.name = name.into();
        Arc::new(day.fold())
    }

    fn name(days: &Days, batch: i64) -> Option<String> {
        days.get(batch).ok().map(|day| day.batch.name.clone())
    }

    #[test]
    fn a_day_read_before_a_change_is_not_kept_after_it() {
        let days = Days::default();
        let before = days.get(1).unwrap_err();
        days.changed(day(1, "new"));
        days.keep(&day(1, "old"), before);
        assert_eq!(name(&days, 1).as_deref(), Some("new"));
        days.forget(1);
        days.keep(&day(1, "old"), before);
        assert_eq!(name(&days, 1), None);
        let now = days.get(1).unwrap_err();
        days.keep(&day(1, "read"), now);
        assert_eq!(name(&days, 1).as_deref(), Some("read"));
    }

    #[test]
    fn the_day_used_longest_ago_makes_room() {
        let days = Days::default();
        let as_of = days.get(0).unwrap_err();
        for batch in 0..8 {
            days.keep(&day(batch, "kept"), as_of);
        }
        assert!(name(&days, 0).is_some());
        days.keep(&day(8, "kept"), as_of);
        assert_eq!((name(&days, 0).is_some(), name(&days, 1)), (true, None));
    }
}
