//! Heat: energy, power, what holds it and what lets it through.

use super::{Mass, TemperatureDifference, TimeSpan, additive, product, quantity};

quantity! {
    /// An amount of heat (base unit: joule).
    Energy {
        /// Joules.
        from_joules, joules = 1.0;
        /// Kilojoules.
        from_kilojoules, kilojoules = 1e3;
        /// Megajoules.
        from_megajoules, megajoules = 1e6;
    }
}

quantity! {
    /// Heat in a time (base unit: watt).
    Power {
        /// Watts.
        from_watts, watts = 1.0;
        /// Kilowatts.
        from_kilowatts, kilowatts = 1e3;
    }
}

quantity! {
    /// Heat that warms a body by one kelvin (base unit: joule per kelvin).
    HeatCapacity {
        /// Joules per kelvin.
        from_joules_per_kelvin, joules_per_kelvin = 1.0;
        /// Kilojoules per kelvin.
        from_kilojoules_per_kelvin, kilojoules_per_kelvin = 1e3;
    }
}

quantity! {
    /// Heat that warms a kilogram by one kelvin (base unit: joule per kilogram kelvin).
    SpecificHeat {
        /// Joules per kilogram kelvin.
        from_joules_per_kg_kelvin, joules_per_kg_kelvin = 1.0;
        /// Kilojoules per kilogram kelvin.
        from_kilojoules_per_kg_kelvin, kilojoules_per_kg_kelvin = 1e3;
    }
}

quantity! {
    /// Heat that melts, boils or wets a kilogram (base unit: joule per kilogram).
    SpecificEnergy {
        /// Joules per kilogram.
        from_joules_per_kg, joules_per_kg = 1.0;
        /// Kilojoules per kilogram.
        from_kilojoules_per_kg, kilojoules_per_kg = 1e3;
    }
}

quantity! {
    /// Heat that passes for each kelvin between two sides (base unit: watt per kelvin).
    Conductance {
        /// Watts per kelvin.
        from_watts_per_kelvin, watts_per_kelvin = 1.0;
    }
}

quantity! {
    /// Pressure (base unit: pascal).
    Pressure {
        /// Pascals.
        from_pascals, pascals = 1.0;
        /// Kilopascals.
        from_kilopascals, kilopascals = 1e3;
    }
}

additive!(Energy, Power, HeatCapacity, SpecificHeat, SpecificEnergy, Conductance, Pressure);

product! {
    Mass * SpecificHeat = HeatCapacity, 1.0;
    Mass * SpecificEnergy = Energy, 1.0;
    HeatCapacity * TemperatureDifference = Energy, 1.0;
    Conductance * TemperatureDifference = Power, 1.0;
    Power * TimeSpan = Energy, 1.0;
}
