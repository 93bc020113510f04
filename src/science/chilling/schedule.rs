//! The quickest way through a row of baths.
//!
//! `togo[i](T)`, the least time to the target from wort at `T` with bath `i` next,
//! follows from `togo[i + 1]` by trying when to leave bath `i`: dynamic programming
//! over one variable [Bellman-1957]. A grid finds the way, a shrinking pattern
//! search [HookeJeeves-1961] then sets each duration to the second.

use super::law::{Cold, Ways};
use super::path::Path;

/// A stay in one of the baths.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Leg {
    pub(super) bath: usize,
    pub(super) lasts: f64,
}

/// A coolant, and how heat leaves the wort while the coil is in it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Turn {
    pub(super) cold: Cold,
    pub(super) ways: Ways,
}

impl Turn {
    pub(super) fn from(&self, wort: f64) -> Path {
        Path::new(wort, self.cold, self.ways)
    }
}

/// Legs and the time they take to the target.
pub(super) type Way = (Vec<Leg>, f64);

/// What the search is told.
#[derive(Clone, Copy, Debug)]
pub(super) struct Job {
    pub(super) target: f64,
    /// Time a change takes, coil out.
    pub(super) change: f64,
    /// Share of its distance from the room that the wort keeps over a change.
    pub(super) kept: f64,
    pub(super) room: f64,
    /// Longest stay in a bath that is not the last.
    pub(super) longest: f64,
    /// Longest stay in the last.
    pub(super) longest_last: f64,
}

const TEMPERATURES: usize = 56;
const STAYS: usize = 36;
/// Time given to a way that does not reach the target.
const NEVER: f64 = 1e9;

impl Job {
    /// A job for a kettle that loses heat as `ways` says while the coil is out.
    pub(super) fn new(target: f64, change: f64, ways: &Ways, longest: f64, longest_last: f64) -> Self {
        let kept = (-ways.loss * change / ways.wort).exp();
        Self { target, change, kept, room: ways.room, longest, longest_last }
    }

    /// Wort after the coil was out for one change.
    pub(super) fn changed(&self, wort: f64) -> f64 {
        self.room + (wort - self.room) * self.kept
    }

    /// The quickest way from `wort`, any of the baths being left out if need be;
    /// `None` where no way gets to the target.
    pub(super) fn quickest(&self, wort: f64, row: &[Turn]) -> Option<Way> {
        if wort <= self.target {
            return Some((Vec::new(), 0.0));
        }
        let table = Table::new(self, wort, row);
        self.along(&table, wort, row, 0, false)
    }

    /// With the coil in the first of the row: the quickest way of all, and the
    /// quickest that leaves it at once (change included).
    pub(super) fn stay_or_change(&self, wort: f64, row: &[Turn]) -> (Option<Way>, Option<Way>) {
        let table = Table::new(self, wort, row);
        let moved = self.along(&table, self.changed(wort), row, 1, false);
        let moved = moved.filter(|(legs, _)| !legs.is_empty());
        (self.along(&table, wort, row, 0, true), moved.map(|(legs, time)| (legs, time + self.change)))
    }

    fn along(&self, table: &Table, wort: f64, row: &[Turn], first: usize, must: bool) -> Option<Way> {
        let walked = table.walk(self, wort, row, first, must);
        let way = walked.map(|legs| self.polished(wort, row, legs));
        if let Some(way) = way.filter(|way| way.1 < NEVER) {
            return Some(way);
        }
        // The grid may miss a way that only just gets there: long stays in every
        // bath, or in the first few with the last of them as long as it takes.
        let long = (first + 1..=row.len()).map(|n| {
            let (mut legs, _) = self.long_stays(wort, &row[..n], first);
            if must && legs.first().is_none_or(|leg| leg.bath != first) {
                legs.insert(0, Leg { bath: first, lasts: 0.0 });
            }
            self.polished(wort, row, legs)
        });
        let best = long.min_by(|a, b| a.1.total_cmp(&b.1));
        best.filter(|way| way.1 < NEVER)
    }

    /// Every bath from `first` on that still cools the wort, each until it is at
    /// its coldest or for the longest stay; and the wort at the end.
    pub(super) fn long_stays(&self, wort: f64, row: &[Turn], first: usize) -> (Vec<Leg>, f64) {
        let (mut wort, mut legs) = (wort, Vec::new());
        for (bath, turn) in row.iter().enumerate().skip(first) {
            let start = if legs.is_empty() { wort } else { self.changed(wort) };
            let path = turn.from(start);
            let (coldest, when) = path.coldest();
            if coldest < wort {
                let lasts = when.min(self.longest);
                wort = path.wort(lasts);
                legs.push(Leg { bath, lasts });
            }
        }
        (legs, wort)
    }

    /// Time from start to target over these legs, the last one's end being set
    /// by the target; past [`NEVER`] where it is not reached, more the further off.
    fn time(&self, wort: f64, row: &[Turn], legs: &[Leg]) -> f64 {
        let (mut wort, mut time) = (wort, 0.0);
        for (i, leg) in legs.iter().enumerate() {
            if i > 0 {
                time += self.change;
                wort = self.changed(wort);
            }
            let path = row[leg.bath].from(wort);
            if i + 1 == legs.len() {
                return match path.reaches(self.target) {
                    Some(t) if t <= self.longest_last => time + t,
                    _ => NEVER * (1.0 + path.wort(self.longest_last) - self.target),
                };
            }
            // The target may be met on the way.
            if path.wort(leg.lasts) <= self.target
                && let Some(t) = path.reaches(self.target)
            {
                return time + t;
            }
            time += leg.lasts;
            wort = path.wort(leg.lasts);
        }
        f64::INFINITY
    }

    /// Durations moved by ever smaller steps while that helps.
    fn polished(&self, wort: f64, row: &[Turn], mut legs: Vec<Leg>) -> Way {
        let mut best = self.time(wort, row, &legs);
        let mut step = 120.0;
        while step > 0.6 && legs.len() > 1 {
            let mut moved = false;
            for i in 0..legs.len() - 1 {
                for by in [step, -step] {
                    let before = legs[i].lasts;
                    legs[i].lasts = (before + by).clamp(0.0, self.longest);
                    let time = self.time(wort, row, &legs);
                    if time < best {
                        best = time;
                        moved = true;
                        break;
                    }
                    legs[i].lasts = before;
                }
            }
            if !moved {
                step *= 0.4;
            }
        }
        self.close(wort, row, &mut legs);
        (legs, best)
    }

    /// Sets the last leg's duration, and drops those after the target is met.
    fn close(&self, wort: f64, row: &[Turn], legs: &mut Vec<Leg>) {
        let mut wort = wort;
        for i in 0..legs.len() {
            let path = row[legs[i].bath].from(wort);
            if let Some(t) = path.reaches(self.target)
                && (i + 1 == legs.len() || t <= legs[i].lasts)
            {
                legs[i].lasts = t;
                legs.truncate(i + 1);
                return;
            }
            wort = self.changed(path.wort(legs[i].lasts));
        }
    }
}

/// Least times to go on a grid of temperatures, finer towards the target.
struct Table {
    temperatures: Vec<f64>,
    /// Per bath but the first, which is only ever left from one temperature.
    togo: Vec<Vec<f64>>,
}

impl Table {
    fn new(job: &Job, wort: f64, row: &[Turn]) -> Self {
        let top = wort - job.target;
        let share = |n: usize| (n as f64 / (TEMPERATURES - 1) as f64).powi(2);
        let temperatures = (0..TEMPERATURES).map(|n| job.target + top * share(n)).collect();
        let mut table = Self { temperatures, togo: vec![Vec::new(); row.len()] };
        for i in (1..row.len()).rev() {
            let column = table.temperatures.iter().map(|&t| {
                let stay = best_stay(job, &table, t, row, i).map_or(f64::INFINITY, |s| s.1);
                stay.min(table.at(i + 1, t))
            });
            table.togo[i] = column.collect();
        }
        table
    }

    /// Time to go with bath `i` next; nil at the target, endless past the last bath.
    fn at(&self, i: usize, wort: f64) -> f64 {
        if wort <= self.temperatures[0] {
            return 0.0;
        }
        let Some(column) = self.togo.get(i).filter(|c| !c.is_empty()) else {
            return f64::INFINITY;
        };
        let right = self.temperatures.partition_point(|&t| t < wort).clamp(1, TEMPERATURES - 1);
        let (t0, t1) = (self.temperatures[right - 1], self.temperatures[right]);
        let share = ((wort - t0) / (t1 - t0)).clamp(0.0, 1.0);
        match share {
            // An endless neighbour must not count where it has no share.
            0.0 => column[right - 1],
            1.0 => column[right],
            _ => column[right - 1] * (1.0 - share) + column[right] * share,
        }
    }

    /// The way the table describes, from `wort` with bath `first` next, which
    /// `must` be used where the coil is in it.
    fn walk(&self, job: &Job, wort: f64, row: &[Turn], first: usize, must: bool) -> Option<Vec<Leg>> {
        let (mut wort, mut legs) = (wort, Vec::new());
        for i in first..row.len() {
            let stay = best_stay(job, self, wort, row, i);
            let skipped = if must && i == first { f64::INFINITY } else { self.at(i + 1, wort) };
            let Some((lasts, _)) = stay.filter(|s| s.1 <= skipped) else {
                continue;
            };
            legs.push(Leg { bath: i, lasts });
            let end = row[i].from(wort).wort(lasts);
            if end <= job.target + 1e-9 {
                return Some(legs);
            }
            wort = job.changed(end);
        }
        None
    }
}

/// How long to stay in bath `i`, and the time to go from there with that stay;
/// `None` where no stay leads to the target.
fn best_stay(job: &Job, table: &Table, wort: f64, row: &[Turn], i: usize) -> Option<(f64, f64)> {
    if wort <= job.target {
        return Some((0.0, 0.0));
    }
    let path = row[i].from(wort);
    let direct = path.reaches(job.target).filter(|&t| t <= job.longest_last).map(|t| (t, t));
    let leaving = (0..STAYS).map(|j| {
        let lasts = job.longest * (j as f64 / (STAYS - 1) as f64).powi(2);
        let after = job.changed(path.wort(lasts));
        (lasts, lasts + job.change + table.at(i + 1, after))
    });
    let last = i + 1 == row.len();
    let best = leaving.filter(|l| !last && l.1.is_finite()).chain(direct);
    best.min_by(|a, b| a.1.total_cmp(&b.1))
}
