//! How strong a wort is, how dense, how dark.

use super::{Mass, Volume, additive, product, quantity};

quantity! {
    /// Apparent specific gravity 20/20 °C: weighed in air against water.
    ///
    /// The tables the trade uses are apparent; the true (in vacuo) value is
    /// lower by 0.00005 at 12 °P, below what a brewer's instrument shows.
    SpecificGravity {
        /// The plain ratio, 1.048 say.
        from_ratio, ratio = 1.0;
    }
}

quantity! {
    /// Extract by mass, in degrees Plato (grams of extract in 100 g of wort).
    Plato {
        /// Degrees Plato.
        from_degrees, degrees = 1.0;
        /// Mass fraction of extract, 0 to 1.
        from_mass_fraction, mass_fraction = 100.0;
    }
}

quantity! {
    /// What a refractometer's sucrose scale shows, in degrees Brix.
    Brix {
        /// Degrees Brix.
        from_degrees, degrees = 1.0;
    }
}

quantity! {
    /// Mass in a volume (base unit: kilogram per cubic metre, gram per litre).
    Density {
        /// Kilograms per cubic metre.
        from_kg_per_m3, kg_per_m3 = 1.0;
        /// Kilograms per litre.
        from_kg_per_litre, kg_per_litre = 1000.0;
    }
}

quantity! {
    /// Colour of malt, wort or beer (base unit: EBC, 25 × absorbance at 430 nm in 1 cm).
    ///
    /// SRM is 12.7 × the same absorbance [ASBC-Beer10].
    Colour {
        /// EBC units.
        from_ebc, ebc = 1.0;
        /// SRM units.
        from_srm, srm = 25.0 / 12.7;
    }
}

additive!(Density);

impl Density {
    /// Density that `mass` has in `volume`.
    #[must_use]
    pub fn of(mass: Mass, volume: Volume) -> Self {
        mass / volume
    }
}

product! {
    Volume * Density = Mass, 0.001;
}
