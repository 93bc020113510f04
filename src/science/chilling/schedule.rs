//! The quickest way through a row of baths.
//!
//! `togo[i](T)`, the least time to the target from wort at `T` with bath `i` next,
//! follows from `togo[i + 1]` by trying when to leave bath `i`: dynamic programming
//! over one variable [Bellman-1957]. A grid finds the way, a shrinking pattern
//! search [HookeJeeves-1961] then sets each duration to the second.

use super::law::{Cold, Path, Ways};

/// A stay in one of the baths.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Leg {
    pub(super) bath: usize,
    pub(super) lasts: f64,
}

/// What the search is told.
#[derive(Clone, Copy, Debug)]
pub(super) struct Job {
    pub(super) ways: Ways,
    pub(super) target: f64,
    /// Time a change takes, coil out.
    pub(super) change: f64,
    /// Longest stay in a bath that is not the last.
    pub(super) longest: f64,
    /// Longest stay in the last.
    pub(super) longest_last: f64,
    /// Whether the coil is in the first bath already.
    pub(super) in_first: bool,
}

const TEMPERATURES: usize = 56;
const STAYS: usize = 36;

impl Job {
    /// Wort after the coil was out for one change.
    pub(super) fn changed(&self, wort: f64) -> f64 {
        let Ways { wort: capacity, loss, room, .. } = self.ways;
        room + (wort - room) * (-loss * self.change / capacity).exp()
    }

    /// Time from start to target over these legs, the last one's end being set
    /// by the target; past 10⁹ s where it is not reached, more the further off.
    fn time(&self, wort: f64, baths: &[Cold], legs: &[Leg]) -> f64 {
        let (mut wort, mut time) = (wort, 0.0);
        for (i, leg) in legs.iter().enumerate() {
            if i > 0 {
                time += self.change;
                wort = self.changed(wort);
            }
            let path = Path::new(wort, baths[leg.bath], self.ways);
            if i + 1 == legs.len() {
                return match path.reaches(self.target) {
                    Some(t) if t <= self.longest_last => time + t,
                    _ => 1e9 * (1.0 + path.wort(self.longest_last) - self.target),
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

    /// The quickest legs from `wort`; `None` where no way over these baths gets
    /// to the target.
    pub(super) fn quickest(&self, wort: f64, baths: &[Cold]) -> Option<(Vec<Leg>, f64)> {
        if wort <= self.target || baths.is_empty() {
            return (wort <= self.target).then(|| (Vec::new(), 0.0));
        }
        let table = Table::new(self, wort, baths);
        let mut best: Option<(Vec<Leg>, f64)> = None;
        let mut consider = |legs: Vec<Leg>| {
            let found = self.polished(wort, baths, legs);
            if found.1 < best.as_ref().map_or(1e9, |b| b.1) {
                best = Some(found);
            }
        };
        if let Some(legs) = table.walk(self, wort, baths) {
            consider(legs);
        } else {
            // The grid may miss a way that only just gets there.
            let all = (0..baths.len()).map(|bath| Leg { bath, lasts: self.longest });
            consider(all.collect());
        }
        best
    }

    /// Durations moved by ever smaller steps while that helps.
    fn polished(&self, wort: f64, baths: &[Cold], mut legs: Vec<Leg>) -> (Vec<Leg>, f64) {
        let mut best = self.time(wort, baths, &legs);
        let mut step = 120.0;
        while step > 0.6 {
            let mut moved = false;
            for i in 0..legs.len().saturating_sub(1) {
                for by in [step, -step] {
                    let before = legs[i].lasts;
                    legs[i].lasts = (before + by).clamp(0.0, self.longest);
                    let time = self.time(wort, baths, &legs);
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
        self.close(wort, baths, &mut legs);
        (legs, best)
    }

    /// Sets the last leg's duration, and drops those after the target is met.
    fn close(&self, wort: f64, baths: &[Cold], legs: &mut Vec<Leg>) {
        let mut wort = wort;
        for i in 0..legs.len() {
            let path = Path::new(wort, baths[legs[i].bath], self.ways);
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
    togo: Vec<Vec<f64>>,
}

impl Table {
    fn new(job: &Job, wort: f64, baths: &[Cold]) -> Self {
        let top = wort - job.target;
        let share = |n: usize| (n as f64 / (TEMPERATURES - 1) as f64).powi(2);
        let temperatures = (0..TEMPERATURES).map(|n| job.target + top * share(n)).collect();
        let mut table = Self { temperatures, togo: vec![Vec::new(); baths.len()] };
        for i in (0..baths.len()).rev() {
            let column = table.temperatures.iter().map(|&t| {
                let stay = best_stay(job, &table, t, baths, i).map_or(f64::INFINITY, |s| s.1);
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
        let right = self.temperatures.partition_point(|&t| t < wort).min(TEMPERATURES - 1);
        let (t0, t1) = (self.temperatures[right - 1], self.temperatures[right]);
        let share = ((wort - t0) / (t1 - t0)).clamp(0.0, 1.0);
        match share {
            // An endless neighbour must not count where it has no share.
            0.0 => column[right - 1],
            1.0 => column[right],
            _ => column[right - 1] * (1.0 - share) + column[right] * share,
        }
    }

    /// The way the table describes, from `wort`.
    fn walk(&self, job: &Job, wort: f64, baths: &[Cold]) -> Option<Vec<Leg>> {
        let (mut wort, mut legs) = (wort, Vec::new());
        for i in 0..baths.len() {
            let stay = best_stay(job, self, wort, baths, i);
            let must = job.in_first && i == 0;
            let skipped = if must { f64::INFINITY } else { self.at(i + 1, wort) };
            let Some((lasts, time)) = stay.filter(|s| s.1 <= skipped) else {
                continue;
            };
            if !time.is_finite() {
                return None;
            }
            legs.push(Leg { bath: i, lasts });
            let path = Path::new(wort, baths[i], job.ways);
            if path.wort(lasts) <= job.target + 1e-9 {
                return Some(legs);
            }
            wort = job.changed(path.wort(lasts));
        }
        None
    }
}

/// How long to stay in bath `i`, and the time to go from there with that stay.
fn best_stay(job: &Job, table: &Table, wort: f64, baths: &[Cold], i: usize) -> Option<(f64, f64)> {
    if wort <= job.target {
        return Some((0.0, 0.0));
    }
    let path = Path::new(wort, baths[i], job.ways);
    let direct = path.reaches(job.target).filter(|&t| t <= job.longest_last).map(|t| (t, t));
    let leaving = (0..STAYS).map(|j| {
        let lasts = job.longest * (j as f64 / (STAYS - 1) as f64).powi(2);
        let after = job.changed(path.wort(lasts));
        (lasts, lasts + job.change + table.at(i + 1, after))
    });
    let best = leaving.filter(|l| l.1.is_finite()).chain(direct);
    best.min_by(|a, b| a.1.total_cmp(&b.1))
}
