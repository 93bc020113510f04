//! The extract account: extract can't appear or vanish in the boil.
//!
//! What was in the kettle before the boil, and the sugars put in since, must be
//! there afterwards. Where the readings say otherwise by more than they can be
//! trusted, one of them is wrong, and each can be asked how wrong it would have
//! to be.

use crate::science::gravity;
use crate::science::units::{Mass, Measured, SpecificGravity, Volume};
use crate::science::wort::Wort;

/// A gap this many standard errors wide is more than chance.
pub const DOUBT: f64 = 2.0;
/// Gravities a kettle can hold; a suspect that would need another is none.
const GRAVITY: (f64, f64) = (0.98, 1.2);

/// A kettle read by volume and gravity.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct KettleReading {
    /// Litres at 20 °C.
    pub volume: Measured,
    /// Specific gravity 20/20.
    pub gravity: Measured,
}

impl KettleReading {
    /// The extract it holds in kilograms, `E = V ρ w`, with the errors of both
    /// readings carried through [GUM-2008].
    ///
    /// ```
    /// use gylebook::science::{extract::account::KettleReading, units::Measured};
    /// let kettle = KettleReading {
    ///     volume: Measured::new(20.0, 0.25),
    ///     gravity: Measured::new(1.048, 0.001),
    /// };
    /// let extract = kettle.extract();
    /// assert!((extract.value - 2.492).abs() < 0.002);
    /// assert!((extract.se / extract.value - 0.0243).abs() < 0.0005);
    /// ```
    #[must_use]
    pub fn extract(self) -> Measured {
        self.volume.with(self.gravity, |litres, sg| kettle(litres, sg).extract().kilograms())
    }
}

fn kettle(litres: f64, sg: f64) -> Wort {
    Wort::new(Volume::from_litres(litres), gravity::plato(SpecificGravity::from_ratio(sg)))
}

/// What goes into the account: two readings and the sugars between them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Account {
    /// The kettle before the boil.
    pub before: KettleReading,
    /// Extract of the sugars added since, in kilograms; exact 0 for none.
    pub sugar: Measured,
    /// The kettle after the boil.
    pub after: KettleReading,
}

/// One of the readings in the account.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Reading {
    /// Pre-boil volume, in litres at 20 °C.
    PreBoilVolume,
    /// Pre-boil gravity, as SG.
    PreBoilGravity,
    /// Extract of the sugars added, in kilograms.
    KettleSugar,
    /// Post-boil volume, in litres at 20 °C.
    PostBoilVolume,
    /// Post-boil gravity, as SG.
    PostBoilGravity,
}

/// A reading that could alone be the cause of the gap.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Suspect {
    /// Which reading, and so in what unit the next two are.
    pub reading: Reading,
    /// What it says.
    pub is: f64,
    /// What it would have to say for the account to close.
    pub needed: f64,
    /// How many of its own standard errors lie between the two.
    pub deviations: f64,
}

impl Account {
    /// `E_after − (E_before + E_sugar)` in kilograms, with its standard error:
    /// positive where extract seems to have appeared, negative where it is missing.
    #[must_use]
    pub fn gap(self) -> Measured {
        self.after.extract().minus(self.before.extract().plus(self.sugar))
    }

    /// Whether the gap is within what the readings can be trusted to ([`DOUBT`]).
    ///
    /// ```
    /// use gylebook::science::{extract::account::{Account, KettleReading, Reading}, units::Measured};
    /// let kettle = |litres, sg| KettleReading {
    ///     volume: Measured::new(litres, 0.25),
    ///     gravity: Measured::new(sg, 0.0005),
    /// };
    /// let account = Account {
    ///     before: kettle(26.0, 1.042),
    ///     sugar: Measured::exact(0.0),
    ///     after: kettle(23.0, 1.042),
    /// };
    /// assert!(!account.closes());
    /// let first = account.suspects()[0];
    /// assert_eq!(first.reading, Reading::PreBoilGravity);
    /// assert!((first.needed - 1.0370).abs() < 0.0002);
    /// ```
    #[must_use]
    pub fn closes(self) -> bool {
        let gap = self.gap();
        gap.value.abs() <= DOUBT * gap.se
    }

    /// The readings that could each close the account alone, the likeliest
    /// (fewest of its own standard errors off) first.
    ///
    /// A reading taken as exact is not suspected, nor is one that would have to
    /// be impossible: a volume or a mass below nothing, an SG outside 0.98–1.2.
    #[must_use]
    pub fn suspects(self) -> Vec<Suspect> {
        use Reading::{KettleSugar, PostBoilGravity, PostBoilVolume, PreBoilGravity, PreBoilVolume};
        let (before, after) = (self.before.extract().value, self.after.extract().value);
        let needed_before = after - self.sugar.value;
        let needed_after = before + self.sugar.value;
        let candidates = [
            (PreBoilVolume, self.before.volume, self.before.volume_for(needed_before)),
            (PreBoilGravity, self.before.gravity, self.before.gravity_for(needed_before)),
            (KettleSugar, self.sugar, (after >= before).then_some(after - before)),
            (PostBoilVolume, self.after.volume, self.after.volume_for(needed_after)),
            (PostBoilGravity, self.after.gravity, self.after.gravity_for(needed_after)),
        ];
        let mut suspects: Vec<_> = candidates
            .into_iter()
            .filter_map(|(reading, measured, needed)| {
                let (is, needed) = (measured.value, needed?);
                let deviations = (needed - is).abs() / measured.se;
                (measured.se > 0.0).then_some(Suspect { reading, is, needed, deviations })
            })
            .collect();
        suspects.sort_by(|a, b| a.deviations.total_cmp(&b.deviations));
        suspects
    }
}

impl KettleReading {
    /// Litres it would take to hold `extract` kilograms at the gravity read.
    fn volume_for(self, extract: f64) -> Option<f64> {
        let per_litre = kettle(1.0, self.gravity.value).extract().kilograms();
        (extract > 0.0 && per_litre > 0.0).then(|| extract / per_litre)
    }

    /// SG it would take to hold `extract` kilograms in the volume read.
    fn gravity_for(self, extract: f64) -> Option<f64> {
        let volume = Volume::from_litres(self.volume.value);
        if extract <= 0.0 || volume <= Volume::ZERO {
            return None;
        }
        let strength = Wort::holding(Mass::from_kilograms(extract), volume).strength;
        let sg = gravity::specific_gravity(strength).ratio();
        (sg >= GRAVITY.0 && sg <= GRAVITY.1).then_some(sg)
    }
}
