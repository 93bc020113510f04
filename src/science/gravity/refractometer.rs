//! What a refractometer's sucrose scale says of wort.
//!
//! Wort bends light a little more than sucrose of the same strength does, so
//! the scale reads high by the instrument's *wort factor*. Alcohol bends it
//! again: once yeast is in, this page no longer holds.

use crate::science::range::OutOfRange;
use crate::science::units::{Brix, Plato};

/// The wort factor where none was measured. From memory: usually credited to
/// [Bonham-2001], with a spread of 1.02–1.06 between instruments and worts.
pub const USUAL_WORT_FACTOR: f64 = 1.04;

/// Wort factors that can be a property of an instrument.
const FACTOR: (f64, f64) = (0.9, 1.2);
/// Readings of a hand refractometer, °Bx.
const SCALE: (f64, f64) = (0.0, 45.0);

/// Extract of unfermented wort from a refractometer reading.
///
/// `P = Bx/f`, °P, `Bx` reading at 20 °C or by an instrument that compensates,
/// `f` wort factor: measure your own as Brix over the hydrometer's °P. Honest
/// within 0.25 °P at 12 °P while `f` is the usual one. 0–45 °Bx. Source:
/// [Bonham-2001], number from memory and not checked: no measurement was read.
///
/// # Errors
/// A reading outside 0–45 °Bx or a factor outside 0.9–1.2.
///
/// ```
/// use gylebook::science::{gravity::refractometer, units::Brix};
/// let strength = refractometer::plato(Brix::from_degrees(12.5), 1.04).unwrap();
/// assert!((strength.degrees() - 12.02).abs() < 0.005);
/// ```
pub fn plato(reading: Brix, wort_factor: f64) -> Result<Plato, OutOfRange> {
    let brix = OutOfRange::check("refractometer reading", reading.degrees(), SCALE, "°Bx")?;
    let factor = OutOfRange::check("wort factor", wort_factor, FACTOR, "")?;
    Ok(Plato::from_degrees(brix / factor))
}

/// The wort factor of an instrument from one wort measured both ways: `f = Bx/P`.
///
/// # Errors
/// A factor outside 0.9–1.2: one of the two readings is wrong.
///
/// ```
/// use gylebook::science::{gravity::refractometer, units::{Brix, Plato}};
/// let f = refractometer::wort_factor(Brix::from_degrees(12.4), Plato::from_degrees(12.0));
/// assert!((f.unwrap() - 1.0333).abs() < 1e-4);
/// ```
pub fn wort_factor(reading: Brix, by_hydrometer: Plato) -> Result<f64, OutOfRange> {
    OutOfRange::check("wort factor", reading.degrees() / by_hydrometer.degrees(), FACTOR, "")
}

/// Brix of a sucrose solution from its refractive index, for instruments that
/// show `n`.
///
/// ```text
/// Bx = ((((11758.74 n − 88885.21) n + 270177.93) n − 413145.80) n + 318417.95) n − 99127.4536
/// ```
/// `n` at 589 nm and 20 °C, 1.333–1.44 (0–60 °Bx). Fit to [ICUMSA-SPS3]; its
/// terms are near 1e5, so it needs every digit. Checked: the indices of 10, 20
/// and 30 % sucrose in [CRC-Handbook].
///
/// # Errors
/// An index outside 1.333–1.44.
///
/// ```
/// use gylebook::science::gravity::refractometer;
/// let brix = refractometer::brix_from_index(1.3478).unwrap();
/// assert!((brix.degrees() - 9.97).abs() < 0.005);
/// ```
pub fn brix_from_index(index: f64) -> Result<Brix, OutOfRange> {
    let n = OutOfRange::check("refractive index", index, (1.332_98, 1.44), "")?;
    let terms = [-99_127.453_6, 318_417.95, -413_145.8, 270_177.93, -88_885.21, 11_758.74];
    Ok(Brix::from_degrees(crate::science::water::horner(n, &terms)))
}
