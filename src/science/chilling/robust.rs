//! How far a reading is trusted.
//!
//! A reading is taken to be clean with probability `1 − p`, normal with the
//! thermometer's standard deviation `σ`, and disturbed with probability `p`,
//! spread as a Cauchy curve of half-width `6σ`: the two-population model of
//! outliers [Tukey-1960; BoxTiao-1968], with a tail so long that being off by twenty
//! degrees costs little more than being off by five. The cost is the negative
//! log of that mixture. A reading's weight is about the chance that it is clean:
//! nearly one where it lies on the curve, a half near `3σ`, nothing from `5σ` on.
//!
//! `p` is larger within one pass after a bath change or a stir, and only towards
//! *cold*: part of the wort has been cooled and the rest has not come by. It is
//! larger still for a reading that later ones climb away from, since wort in a
//! cold bath does not warm, and beside one that turned out to be low, since a dip
//! lasts for minutes.

use super::series::Series;

/// Half-width of disturbed readings against the `σ` of clean ones.
const WIDER: f64 = 6.0;
/// Peak of a Cauchy density against a normal one of the same width: √(2/π).
const CAUCHY: f64 = 0.797_884_560_802_865_4;
/// A quiet reading is disturbed now and then: misread, misheard, mistyped.
const QUIET: f64 = 0.02;
/// Within one pass after a change or a stir.
const UNSETTLED: f64 = 0.4;
/// A reading that a later one within the pass climbs away from.
const CLIMBED_FROM: f64 = 0.7;
/// The first reading of a chill, that it is too high.
const FIRST_TOO_HIGH: f64 = 0.15;
/// Beside a reading that turned out to be low.
const BESIDE: f64 = 0.8;
/// A climb counts from this many standard deviations on.
const CLIMB_SIGMAS: f64 = 5.0;

/// Pass time taken where none is recorded (common practice, no source): only
/// for how far readings are doubted, never for a verdict.
const USUAL_PASS_S: f64 = 600.0;

/// How likely a reading is disturbed, before the fit has seen it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Doubt {
    /// That it shows colder than the wort is.
    low: f64,
    /// That it shows hotter.
    high: f64,
}

impl Doubt {
    /// The clean and the disturbed share of the density at this residual, model
    /// less reading, up to a common factor.
    fn shares(self, residual: f64, sigma: f64) -> (f64, f64) {
        let z = residual / sigma;
        let doubt = if residual > 0.0 { self.low } else { self.high };
        let clean = (1.0 - doubt) * (-0.5 * z * z).exp();
        let wide = doubt * CAUCHY / WIDER / (1.0 + (z / WIDER).powi(2));
        (clean, wide)
    }

    /// Cost of a residual and its weight in the normal equations.
    pub(super) fn cost_and_weight(self, residual: f64, sigma: f64) -> (f64, f64) {
        let (clean, wide) = self.shares(residual, sigma);
        let doubt = if residual > 0.0 { self.low } else { self.high };
        let at_nil = 1.0 - doubt + doubt * CAUCHY / WIDER;
        let trust = clean / (clean + wide);
        // −d ln f / dr / r of the normal and of the Cauchy part
        let far = 2.0 / (WIDER * WIDER + (residual / sigma).powi(2));
        let weight = (trust + (1.0 - trust) * far) / (sigma * sigma);
        (-((clean + wide) / at_nil).ln(), weight)
    }

    /// What a reading tells the fit, in readings' worth of `1/σ²`: a reading that
    /// may be disturbed tells less than its weight, because the weight itself
    /// would have been another had the noise been another.
    pub(super) fn information(self, residual: f64, sigma: f64) -> f64 {
        self.trust(residual, sigma).powi(2) / (sigma * sigma)
    }

    /// The chance that a reading with this residual is clean.
    pub(super) fn trust(self, residual: f64, sigma: f64) -> f64 {
        let (clean, wide) = self.shares(residual, sigma);
        clean / (clean + wide)
    }

    /// A reading beside one that turned out to be low: a dip lasts for minutes.
    pub(super) fn beside_a_low_one(self) -> Self {
        Self { low: self.low.max(BESIDE), ..self }
    }

    /// Whether a dip may reach this reading.
    pub(super) fn unsettled(self) -> bool {
        self.low > QUIET
    }
}

/// The chance that each reading is disturbed, before the fit has seen it.
pub(super) fn doubts(series: &Series, pass_s: Option<f64>, sigma: f64) -> Vec<Doubt> {
    let pass = pass_s.unwrap_or(USUAL_PASS_S);
    let readings = series.readings();
    let within = |i: usize| {
        let at = readings[i].at;
        let since = series.last_disturbed(at).map(|d| (at - d).seconds());
        since.is_some_and(|s| s > 0.0 && s <= pass)
    };
    let climbed_from = |i: usize| {
        let later = readings[i + 1..].iter();
        let higher = later
            .take_while(|r| (r.at - readings[i].at).seconds() <= pass)
            .filter(|r| (r.wort - readings[i].wort).kelvins() > CLIMB_SIGMAS * sigma);
        // One that is higher may be the misread one itself.
        higher.count() >= 2
    };
    (0..readings.len())
        .map(|i| {
            let low = match within(i) {
                true if climbed_from(i) => CLIMBED_FROM,
                true => UNSETTLED,
                false => QUIET,
            };
            // The first by itself decides where the wort started.
            let high = if i == 0 { FIRST_TOO_HIGH } else { QUIET };
            Doubt { low, high }
        })
        .collect()
}
