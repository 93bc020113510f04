//! How far a reading is trusted.
//!
//! A reading is taken to be clean with probability `1 − p`, normal with the
//! thermometer's standard deviation `σ`, and disturbed with probability `p`,
//! ten times as wide: the two-population model of outliers
//! [Tukey-1960, BoxTiao-1968]. The cost is the negative log of that mixture, and the
//! weight of a reading is the chance that it is clean. For a bare residual `r`
//! the weight falls from nearly one at `r = 0` to nearly nothing at `4σ`.
//!
//! `p` is larger within one pass after a bath change or a stir, when part of the
//! wort has been cooled and the rest has not come by, and largest for a reading
//! that a later one climbs away from: wort in a cold bath does not warm.

use super::series::Series;

/// Width of disturbed readings against clean ones.
const WIDER: f64 = 10.0;
/// A quiet reading is disturbed now and then: misread, misheard, mistyped.
const QUIET: f64 = 0.02;
/// Within one pass after a change or a stir.
const UNSETTLED: f64 = 0.15;
/// A reading that a later one within the pass climbs away from.
const CLIMBED_FROM: f64 = 0.7;
/// A climb counts from this many standard deviations on.
const CLIMB_SIGMAS: f64 = 5.0;

/// Pass time taken where none is recorded (common practice, no source): only
/// for how far readings are doubted, never for a verdict.
const USUAL_PASS_S: f64 = 600.0;

/// Cost of a residual and its weight in the normal equations.
pub(super) fn cost_and_weight(residual: f64, sigma: f64, doubt: f64) -> (f64, f64) {
    let z = residual / sigma;
    let clean = (1.0 - doubt) * (-0.5 * z * z).exp();
    let wide = doubt / WIDER * (-0.5 * (z / WIDER).powi(2)).exp();
    let sum = (clean + wide).max(f64::MIN_POSITIVE);
    let trust = clean / sum;
    let weight = (trust + (1.0 - trust) / (WIDER * WIDER)) / (sigma * sigma);
    (-sum.ln(), weight)
}

/// The chance that a reading with this residual is clean.
pub(super) fn trust(residual: f64, sigma: f64, doubt: f64) -> f64 {
    let z = residual / sigma;
    let clean = (1.0 - doubt) * (-0.5 * z * z).exp();
    let wide = doubt / WIDER * (-0.5 * (z / WIDER).powi(2)).exp();
    clean / (clean + wide).max(f64::MIN_POSITIVE)
}

/// The chance that each reading is disturbed, before the fit has seen it.
pub(super) fn doubts(series: &Series, pass_s: Option<f64>, sigma: f64) -> Vec<f64> {
    let pass = pass_s.unwrap_or(USUAL_PASS_S);
    let readings = series.readings();
    let within = |i: usize| {
        let at = readings[i].at;
        let since = series.last_disturbed(at).map(|d| (at - d).seconds());
        since.is_some_and(|s| s > 0.0 && s <= pass)
    };
    let climbed_from = |i: usize| {
        let later = readings[i + 1..].iter();
        later
            .take_while(|r| (r.at - readings[i].at).seconds() <= pass)
            .any(|r| (r.wort - readings[i].wort).kelvins() > CLIMB_SIGMAS * sigma)
    };
    (0..readings.len())
        .map(|i| match within(i) {
            true if climbed_from(i) => CLIMBED_FROM,
            true => UNSETTLED,
            false => QUIET,
        })
        .collect()
}
