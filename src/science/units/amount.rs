//! How much and how long: volume, mass, time, flow, length, cells.

use super::{additive, product, quantity};

quantity! {
    /// A volume of liquid (base unit: litre).
    Volume {
        /// Litres.
        from_litres, litres = 1.0;
        /// Millilitres.
        from_millilitres, millilitres = 0.001;
        /// US gallons of 231 cubic inches.
        from_us_gallons, us_gallons = 3.785_411_784;
    }
}

quantity! {
    /// A mass (base unit: kilogram).
    Mass {
        /// Kilograms.
        from_kilograms, kilograms = 1.0;
        /// Grams.
        from_grams, grams = 0.001;
        /// Avoirdupois pounds.
        from_pounds, pounds = 0.453_592_37;
        /// Avoirdupois ounces.
        from_ounces, ounces = 0.028_349_523_125;
    }
}

quantity! {
    /// A length of time (base unit: second).
    TimeSpan {
        /// Seconds.
        from_seconds, seconds = 1.0;
        /// Minutes.
        from_minutes, minutes = 60.0;
        /// Hours.
        from_hours, hours = 3600.0;
    }
}

quantity! {
    /// A volume that passes in a time (base unit: litre per minute).
    FlowRate {
        /// Litres per minute.
        from_litres_per_minute, litres_per_minute = 1.0;
        /// Litres per hour.
        from_litres_per_hour, litres_per_hour = 1.0 / 60.0;
    }
}

quantity! {
    /// A length or height (base unit: metre).
    Length {
        /// Metres.
        from_metres, metres = 1.0;
        /// International feet.
        from_feet, feet = 0.3048;
    }
}

quantity! {
    /// A number of viable yeast cells (base unit: billion, 10⁹).
    CellCount {
        /// Billions of cells.
        from_billions, billions = 1.0;
    }
}

additive!(Volume, Mass, TimeSpan, FlowRate, Length, CellCount);

product! {
    FlowRate * TimeSpan = Volume, 1.0 / 60.0;
}
