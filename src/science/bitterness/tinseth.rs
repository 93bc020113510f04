//! Bitterness of a wort by hop utilisation.

use super::isomerisation;
use crate::science::curve::Curve;
use crate::science::range::OutOfRange;
use crate::science::units::{Mass, SpecificGravity, TimeSpan, Volume};

/// Gravities the estimate is used for, SG.
const GRAVITY: (f64, f64) = (0.98, 1.2);

/// The share of a hop's α-acid that ends up as bitterness, 0 to 0.398.
///
/// `U = 1.65 × 0.000125^(S − 1) × (1 − e^(−0.04 t))/4.15`, `S` gravity of the
/// boiling wort (take the mean of pre- and post-boil), `t` minutes boiled.
/// Source: [Tinseth-1997]; the form is confirmed, the four constants are from
/// memory and reproduce all printed values we have [Palmer-2006]. An estimate:
/// 20 % or worse against a real beer, and made for a boil near sea level. Hops
/// at flame-out count nothing here, see [`with_stand`].
///
/// # Errors
/// A gravity outside 0.98–1.2 or a time outside 0–24 h.
///
/// ```
/// use gylebook::science::{bitterness::tinseth, units::{SpecificGravity, TimeSpan}};
/// let u = tinseth::utilisation(SpecificGravity::from_ratio(1.050), TimeSpan::from_minutes(60.0));
/// assert!((u.unwrap() - 0.231).abs() < 0.0005);
/// ```
pub fn utilisation(gravity: SpecificGravity, boiled: TimeSpan) -> Result<f64, OutOfRange> {
    let s = OutOfRange::check("gravity", gravity.ratio(), GRAVITY, "SG")?;
    let t = OutOfRange::check("boiling time of hops", boiled.minutes(), (0.0, 1440.0), "min")?;
    Ok(1.65 * 0.000_125_f64.powf(s - 1.0) * (1.0 - (-0.04 * t).exp()) / 4.15)
}

/// Utilisation with the hot time after flame-out counted in.
///
/// The curve from flame-out on is turned into minutes at 100 °C by the rate of
/// isomerisation [MalowickiShellhammer-2005] and added to the time boiled: our own
/// joining of two sources, an estimate of an estimate. It is what makes hops at
/// flame-out count. A full boil gains little by it, late hops much.
///
/// # Errors
/// As [`utilisation`].
///
/// ```
/// use gylebook::science::bitterness::tinseth;
/// use gylebook::science::curve::Curve;
/// use gylebook::science::units::{SpecificGravity, Temperature, TimeSpan};
/// let at = |min, c| (TimeSpan::from_minutes(min), Temperature::from_celsius(c));
/// let stand = Curve::new([at(0.0, 100.0), at(20.0, 80.0), at(40.0, 20.0)]).unwrap();
/// let gravity = SpecificGravity::from_ratio(1.050);
/// let u = tinseth::with_stand(gravity, TimeSpan::ZERO, &stand).unwrap();
/// assert!((u - 0.083).abs() < 0.001);
/// ```
pub fn with_stand(gravity: SpecificGravity, boiled: TimeSpan, after_flame_out: &Curve) -> Result<f64, OutOfRange> {
    utilisation(gravity, boiled + isomerisation::equivalent_boil(after_flame_out))
}

/// Bitterness that one addition gives: `IBU = 10⁶ U α m/V`, mg of iso-α-acid
/// per litre.
///
/// `U` utilisation and `α` α-acid of the hop, both 0 to 1; `m` kg; `V` litres
/// of cold wort. The sum over the additions is the wort's. Source
/// [Tinseth-1997].
///
/// # Errors
/// A volume outside 0.01–100,000 L.
///
/// ```
/// use gylebook::science::{bitterness::tinseth, units::*};
/// let u = tinseth::utilisation(SpecificGravity::from_ratio(1.050), TimeSpan::from_minutes(60.0));
/// let ounce = Mass::from_grams(28.35);
/// let ibu = tinseth::bitterness(u.unwrap(), 0.064, ounce, Volume::from_litres(20.0));
/// assert!((ibu.unwrap() - 20.93).abs() < 0.005);
/// ```
pub fn bitterness(utilisation: f64, alpha: f64, hops: Mass, volume: Volume) -> Result<f64, OutOfRange> {
    Ok(utilisation * alpha_acid(alpha, hops, volume)?)
}

/// α-acid that an addition brings, `10⁶ α m/V`, mg/L; inputs as [`bitterness`].
///
/// # Errors
/// A volume outside 0.01–100,000 L.
///
/// ```
/// use gylebook::science::{bitterness::tinseth, units::{Mass, Volume}};
/// let brought = tinseth::alpha_acid(0.05, Mass::from_grams(40.0), Volume::from_litres(20.0));
/// assert!((brought.unwrap() - 100.0).abs() < 1e-9);
/// ```
pub fn alpha_acid(alpha: f64, hops: Mass, volume: Volume) -> Result<f64, OutOfRange> {
    let litres = OutOfRange::check("volume", volume.litres(), (0.01, 1e5), "L")?;
    Ok(1e6 * alpha * hops.kilograms() / litres)
}
