//! α-acid → iso-α-acid → loss, two first-order steps that follow Arrhenius.
//!
//! ```text
//! k = A e^(−B/T)      α' = −k₁ α      iso' = k₁ α − k₂ iso
//! ```
//! Measured at 90–130 °C in a buffer of pH 5.2 [MalowickiShellhammer-2005];
//! below 90 °C it is an extrapolation. Everything here is a share of the
//! *dissolved* α-acid and knows nothing of what trub, yeast and foam take: good
//! for comparing two chills, not for IBU. An estimate.

use crate::science::curve::Curve;
use crate::science::units::{Temperature, TimeSpan};

/// `A` and `B` of formation, 1/min and K [MalowickiShellhammer-2005].
const FORMATION: (f64, f64) = (7.9e11, 11_858.0);
/// `A` and `B` of loss, 1/min and K [MalowickiShellhammer-2005].
const LOSS: (f64, f64) = (4.1e12, 12_994.0);

/// How fast the two steps go.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rates {
    /// `k₁`: α-acid that turns into iso-α-acid, per minute.
    pub formation_per_min: f64,
    /// `k₂`: iso-α-acid that is lost, per minute.
    pub loss_per_min: f64,
}

/// The rates at a temperature: `k₁ = 7.9e11 e^(−11858/T)`,
/// `k₂ = 4.1e12 e^(−12994/T)`, 1/min, `T` in kelvins.
///
/// 90–130 °C; usable down to 60 °C for comparing. The unit is not in the
/// abstract; only minutes gives the hour-scale of a boil [MalowickiShellhammer-2005].
/// Checked: the activation energies given beside them, 98.6 and 108.0 kJ/mol.
///
/// ```
/// use gylebook::science::{bitterness::isomerisation, units::Temperature};
/// let boil = isomerisation::rates(Temperature::from_celsius(100.0));
/// assert!((boil.formation_per_min - 0.012490).abs() < 1e-6);
/// assert!((boil.loss_per_min - 0.003087).abs() < 1e-6);
/// ```
#[must_use]
pub fn rates(at: Temperature) -> Rates {
    let k = |(a, b): (f64, f64)| a * (-b / at.kelvins()).exp();
    Rates { formation_per_min: k(FORMATION), loss_per_min: k(LOSS) }
}

/// Where a dose of dissolved α-acid stands. The three shares add up to 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Alpha {
    /// Still α-acid.
    pub left: f64,
    /// Turned into iso-α-acid, which is bitter.
    pub iso: f64,
    /// Lost again.
    pub lost: f64,
}

impl Alpha {
    /// Just dissolved, nothing turned over yet.
    pub const FRESH: Self = Self { left: 1.0, iso: 0.0, lost: 0.0 };

    /// After a time at one temperature, exactly:
    /// `α = α₀ e^(−k₁t)`, `iso = iso₀ e^(−k₂t) + α₀ k₁/(k₂ − k₁)(e^(−k₁t) − e^(−k₂t))`.
    ///
    /// ```
    /// use gylebook::science::bitterness::isomerisation::Alpha;
    /// use gylebook::science::units::{Temperature, TimeSpan};
    /// let boiled = Alpha::FRESH.held(Temperature::from_celsius(100.0), TimeSpan::from_minutes(60.0));
    /// assert!((boiled.iso - 0.4759).abs() < 1e-4);
    /// ```
    #[must_use]
    pub fn held(self, at: Temperature, lasts: TimeSpan) -> Self {
        self.turned(&Turn::of(at, lasts))
    }

    fn turned(self, turn: &Turn) -> Self {
        let Turn { rates: Rates { formation_per_min: k1, loss_per_min: k2 }, formed, lost } = *turn;
        let left = self.left * formed;
        let iso = self.iso * lost + self.left * k1 / (k2 - k1) * (formed - lost);
        Self { left, iso, lost: self.left + self.iso + self.lost - left - iso }
    }

    /// After a temperature curve, piece by piece; within 2e−4 of an exact
    /// integration.
    ///
    /// ```
    /// use gylebook::science::bitterness::isomerisation::Alpha;
    /// use gylebook::science::curve::Curve;
    /// use gylebook::science::units::{Temperature, TimeSpan};
    /// let at = |min, c| (TimeSpan::from_minutes(min), Temperature::from_celsius(c));
    /// let stand = Curve::new([at(0.0, 100.0), at(20.0, 80.0)]).unwrap();
    /// assert!((Alpha::FRESH.along(&stand).iso - 0.1095).abs() < 2e-4);
    /// ```
    #[must_use]
    pub fn along(self, curve: &Curve) -> Self {
        let [after] = Self::all_along([self], curve);
        after
    }

    /// The same of several doses at once: what time and temperature do is worked out
    /// once for all of them, and that is what takes long.
    #[must_use]
    pub fn all_along<Doses: AsMut<[Self]>>(mut doses: Doses, curve: &Curve) -> Doses {
        for piece in curve.pieces() {
            let turn = Turn::of(piece.at, piece.lasts);
            doses.as_mut().iter_mut().for_each(|alpha| *alpha = alpha.turned(&turn));
        }
        doses
    }
}

/// What a time at one temperature does to any dose.
struct Turn {
    rates: Rates,
    /// `e^(−k₁t)`.
    formed: f64,
    /// `e^(−k₂t)`.
    lost: f64,
}

impl Turn {
    fn of(at: Temperature, lasts: TimeSpan) -> Self {
        let rates = rates(at);
        let t = lasts.minutes();
        Self { formed: (-rates.formation_per_min * t).exp(), lost: (-rates.loss_per_min * t).exp(), rates }
    }
}

/// Minutes at 100 °C that turn over as much α-acid as a curve does:
/// `t = ∫ k₁(T) dt / k₁(100 °C)`.
///
/// ```
/// use gylebook::science::bitterness::isomerisation;
/// use gylebook::science::curve::Curve;
/// use gylebook::science::units::{Temperature, TimeSpan};
/// let hour = Curve::held(Temperature::from_celsius(93.32), TimeSpan::from_minutes(60.0));
/// assert!((isomerisation::equivalent_boil(&hour).minutes() - 33.6).abs() < 0.1);
/// ```
#[must_use]
pub fn equivalent_boil(curve: &Curve) -> TimeSpan {
    let at_boil = rates(Temperature::from_celsius(100.0)).formation_per_min;
    curve.pieces().map(|piece| piece.lasts * (rates(piece.at).formation_per_min / at_boil)).sum()
}
