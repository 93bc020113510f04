//! Where the search for the fit starts.

use super::fit::Start;
use super::least_squares::Problem;
use super::model::Model;
use super::search::Solved;

/// Which readings a first guess looks at.
#[derive(Clone, Copy, PartialEq)]
pub(super) enum Guess {
    All,
    /// Without the first of each chain, which by itself decides its start.
    NotFirst,
    /// Without those within three minutes of a bath change.
    NotUnsettled,
}

const DIP_S: f64 = 180.0;

/// Start temperatures and conductances one stage after the other from a coarse
/// search, the first stage of a chain over both.
pub(super) fn first_guess(model: &Model<'_>, guess: Guess) -> Vec<f64> {
    let loss = model.kettle.loss;
    let size = model.chains.len() + model.coils.len() + usize::from(model.loss_slot().is_some());
    let mut at = vec![4.6; size];
    if let Some(j) = model.loss_slot() {
        at[j] = loss.conductance.watts_per_kelvin();
    }
    let mut offset = 0;
    for (c, chain) in model.chains.iter().enumerate() {
        let first = &chain.readings[..chain.readings.len().min(3)];
        let low = first.iter().map(|r| r.2).fold(f64::INFINITY, f64::min);
        let high = first.iter().map(|r| r.2).fold(f64::NEG_INFINITY, f64::max);
        let mut starts: Vec<f64> = (0..9).map(|n| low + (high + 12.0 - low) * f64::from(n) / 8.0).collect();
        if let (0, Start::Pinned(known, _)) = (c, model.start) {
            starts = vec![known.celsius()];
        }
        let mut from = chain.readings[0].1;
        for (coil, until) in chain.coils() {
            let slot = model.slot(coil);
            let mut best = (f64::INFINITY, starts[0], at[slot]);
            let looks_at = |i: usize| match guess {
                Guess::All => true,
                Guess::NotFirst => i > 0,
                Guess::NotUnsettled => chain.readings[i].1 > from + DIP_S,
            };
            for &start in &starts {
                for step in 0..12 {
                    at[slot] = 1.4 + 0.5 * f64::from(step);
                    let mut cost = 0.0;
                    let of = |k: usize| model.coil(&at, k);
                    chain.walk(start, of, model.ways(&at), (from, until), |i, wort| {
                        let (_, time, read) = chain.readings[i];
                        if time <= until && looks_at(i) {
                            cost += model.cost_and_weight(offset + i, wort - read).0;
                        }
                    });
                    if cost < best.0 {
                        best = (cost, start, at[slot]);
                    }
                }
            }
            from = until;
            at[slot] = best.2;
            starts = vec![best.1];
        }
        at[c] = starts[0];
        offset += chain.readings.len();
    }
    at
}

/// From a fit of the same readings with other conductances: its starts, and one
/// `ln K` for all. `None` where it did not reach so far.
pub(super) fn guess_near(model: &Model<'_>, near: &Solved, log: f64) -> Option<Vec<f64>> {
    let starts = model.chains.iter().map(|c| near.wort_at(c.starts()));
    let mut at = starts.collect::<Option<Vec<f64>>>()?;
    // The one in common is nil, another stage's one above its place (fit::one_for_all).
    at.extend(model.coils.iter().map(|&c| c.checked_sub(1).and_then(|stage| near.log(stage)).unwrap_or(log)));
    at.extend(model.loss_slot().map(|_| near.loss.conductance.watts_per_kelvin()));
    Some(at)
}
