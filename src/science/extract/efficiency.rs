//! Shares of the potential, and what the boil took.

use crate::science::range::OutOfRange;
use crate::science::units::{FlowRate, Mass, Plato, SpecificGravity, TimeSpan, Volume};

/// The share of some extract that reached a point: `η = E/E₀`, 0 to 1.
///
/// One relation, four names on a page, by definition:
/// - *into the kettle*: pre-boil extract over the mash's potential
/// - *brewhouse*: extract in the fermenter over the whole potential
/// - *kettle to fermenter*: extract in the fermenter over post-boil extract
/// - *conversion*: [`dissolved`] over the mash's potential
///
/// More than 1 means that a reading is wrong, and is given as it is.
///
/// # Errors
/// A potential of less than a gram: there is nothing to take a share of.
///
/// ```
/// use gylebook::science::{extract::efficiency, units::Mass};
/// let kg = Mass::from_kilograms;
/// assert_eq!(efficiency::share(kg(3.0), kg(4.0)).unwrap(), 0.75);
/// ```
pub fn share(extract: Mass, of: Mass) -> Result<f64, OutOfRange> {
    OutOfRange::check("extract to take a share of", of.kilograms(), (0.001, 1e5), "kg")?;
    Ok(extract / of)
}

/// Extract dissolved in the mash, from the first wort: `E = W P/(100 − P)`.
///
/// Kilograms; `W` all water in the mash, the malt's own moisture with it (kg),
/// `P` °P of the first wort, taken before any sparge. Mass balance: what is
/// dissolved is shared out evenly in the water. Water that starch binds as it
/// splits is left out, here as in the laboratory's own formula; a mash is thicker
/// than theirs, so conversion comes out up to 1 % high (our reckoning, no source).
///
/// # Errors
/// A first wort outside 0–40 °P.
///
/// ```
/// use gylebook::science::{extract::efficiency, units::{Mass, Plato}};
/// let water = Mass::from_kilograms(15.2);
/// let in_mash = efficiency::dissolved(Plato::from_degrees(19.0), water).unwrap();
/// assert!((in_mash.kilograms() - 3.565).abs() < 0.001);
/// ```
pub fn dissolved(first_wort: Plato, water: Mass) -> Result<Mass, OutOfRange> {
    let p = OutOfRange::check("first wort", first_wort.degrees(), (0.0, 40.0), "°P")?;
    Ok(water * (p / (100.0 - p)))
}

/// Brewhouse yield as German practice reckons it, from the hot kettle.
///
/// `A = 0.96 V S P/m`, % of the grist; `V` hot litres at flame-out, `S` and `P`
/// of the cast-out wort, `m` grist in kg. 0.96 is the contraction of wort from
/// 100 to 20 °C and nothing else. Formula from memory [Kunze-Technologie], within
/// 0.2 % of the mass balance.
///
/// # Errors
/// A grist of less than a gram.
///
/// ```
/// use gylebook::science::{extract::efficiency, gravity, units::{Mass, Plato, Volume}};
/// let p = Plato::from_degrees(12.0);
/// let (hot, grist) = (Volume::from_litres(25.0), Mass::from_kilograms(5.0));
/// let percent = efficiency::yield_from_hot_kettle(hot, gravity::specific_gravity(p), p, grist);
/// assert!((percent.unwrap() - 60.39).abs() < 0.005);
/// ```
pub fn yield_from_hot_kettle(
    hot: Volume,
    gravity: SpecificGravity,
    strength: Plato,
    grist: Mass,
) -> Result<f64, OutOfRange> {
    OutOfRange::check("grist", grist.kilograms(), (0.001, 1e5), "kg")?;
    Ok(0.96 * hot.litres() * gravity.ratio() * strength.degrees() / grist.kilograms())
}

/// What a boil took off.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BoilOff {
    /// Volume at 20 °C lost in a time.
    pub rate: FlowRate,
    /// The share of the volume at the start that goes in an hour, 0 to 1.
    pub share_per_hour: f64,
}

/// What a boil took off: `q = (V₀ − V₁)/t`, and `q/V₀` in an hour.
///
/// Both volumes at 20 °C. By definition. Negative where the kettle filled up,
/// which a page should mark as a reading to check.
///
/// # Errors
/// A boil outside 1 min to 24 h, or a kettle that held nothing.
///
/// ```
/// use gylebook::science::{extract::efficiency, units::{TimeSpan, Volume}};
/// let l = Volume::from_litres;
/// let off = efficiency::boil_off(l(26.0), l(23.0), TimeSpan::from_minutes(60.0)).unwrap();
/// assert!((off.rate.litres_per_hour() - 3.0).abs() < 1e-9);
/// assert!((off.share_per_hour - 0.1154).abs() < 5e-5);
/// ```
pub fn boil_off(before: Volume, after: Volume, lasts: TimeSpan) -> Result<BoilOff, OutOfRange> {
    OutOfRange::check("boiling time", lasts.minutes(), (1.0, 1440.0), "min")?;
    OutOfRange::check("pre-boil volume", before.litres(), (0.001, 1e5), "L")?;
    let rate = (before - after) / lasts;
    Ok(BoilOff { rate, share_per_hour: rate.litres_per_hour() / before.litres() })
}
