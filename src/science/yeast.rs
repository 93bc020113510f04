//! Yeast: how many cells a wort needs, and how many a pack holds.

use super::range::OutOfRange;
use super::units::{CellCount, Mass, Plato, Volume};

/// Cells for each millilitre and degree Plato, ale: 0.75 million, attributed to
/// Fix at second hand [Fix-Rates].
pub const ALE: PitchRate = PitchRate(0.75);
/// The same for lager, 1.5 million; the spread given is 1.5–2 [Fix-Rates].
pub const LAGER: PitchRate = PitchRate(1.5);

/// Viable cells in a gram of dry yeast, billions: what makers promise at least
/// (5), and the most counted (18) [VanDenBerg-2003].
pub const DRY_BILLION_PER_G: (f64, f64) = (5.0, 18.0);

/// Cells in a gram of thick slurry, billions. Common practice, no source: it
/// varies with how thick and how clean it is; count it if you can.
pub const SLURRY_BILLION_PER_G: (f64, f64) = (0.5, 2.0);

/// A pitching rate: million cells per millilitre of wort and degree Plato.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct PitchRate(f64);

impl PitchRate {
    /// A rate of one's own, in million cells per mL and °P.
    ///
    /// # Errors
    /// A rate outside 0.05–10.
    pub fn new(million_per_ml_plato: f64) -> Result<Self, OutOfRange> {
        let unit = "million/(mL °P)";
        OutOfRange::check("pitching rate", million_per_ml_plato, (0.05, 10.0), unit).map(Self)
    }

    /// Million cells per millilitre and degree Plato.
    #[must_use]
    pub const fn million_per_ml_plato(self) -> f64 {
        self.0
    }
}

/// A count or mass known only to lie between two values.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Between<T> {
    /// At least.
    pub low: T,
    /// At most.
    pub high: T,
}

/// Cells that a wort wants: `N = r V P`.
///
/// `r` million per mL and °P, `V` wort in the fermenter, `P` °P. A rule, not a
/// law: half and double both ferment [Fix-Rates].
///
/// ```
/// use gylebook::science::{units::{Plato, Volume}, yeast};
/// let need = yeast::needed(Volume::from_litres(20.0), Plato::from_degrees(12.0), yeast::ALE);
/// assert!((need.billions() - 180.0).abs() < 1e-9);
/// ```
#[must_use]
pub fn needed(volume: Volume, strength: Plato, rate: PitchRate) -> CellCount {
    let strength = strength.degrees().max(0.0);
    CellCount::from_billions(rate.0 * 1e-3 * volume.millilitres() * strength)
}

/// Cells in a mass of dry yeast, as a range.
///
/// ```
/// use gylebook::science::{units::Mass, yeast};
/// let sachet = yeast::in_dry(Mass::from_grams(11.5));
/// assert!((sachet.low.billions() - 57.5).abs() < 1e-9);
/// assert!((sachet.high.billions() - 207.0).abs() < 1e-9);
/// ```
#[must_use]
pub fn in_dry(mass: Mass) -> Between<CellCount> {
    per_gram(mass, DRY_BILLION_PER_G)
}

/// Cells in a mass of slurry, as a range.
#[must_use]
pub fn in_slurry(mass: Mass) -> Between<CellCount> {
    per_gram(mass, SLURRY_BILLION_PER_G)
}

fn per_gram(mass: Mass, (low, high): (f64, f64)) -> Between<CellCount> {
    let count = |per_gram: f64| CellCount::from_billions(mass.grams() * per_gram);
    Between { low: count(low), high: count(high) }
}

/// Dry yeast that holds so many cells, as a range: the least if every gram is as
/// good as the best counted, the most on the makers' promise alone.
///
/// ```
/// use gylebook::science::{units::CellCount, yeast};
/// let dose = yeast::dry_for(CellCount::from_billions(180.0));
/// assert!((dose.low.grams() - 10.0).abs() < 1e-9 && (dose.high.grams() - 36.0).abs() < 1e-9);
/// ```
#[must_use]
pub fn dry_for(cells: CellCount) -> Between<Mass> {
    let grams = |per_gram: f64| Mass::from_grams(cells.billions() / per_gram);
    Between { low: grams(DRY_BILLION_PER_G.1), high: grams(DRY_BILLION_PER_G.0) }
}
