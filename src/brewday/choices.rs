//! The closed sets of words a record may use, each with the word the page shows.

use utoipa::openapi::{ObjectBuilder, RefOr, Schema, Type};

/// Declares a closed set: an enum whose members have a fixed key (in JSON, in
/// forms, in the file) and a label (on the page).
macro_rules! choices {
    ($( $(#[$about:meta])* $name:ident { $( $(#[$one:meta])* $member:ident = $key:literal, $label:literal; )+ } )+) => {
        $(
            $(#[$about])*
            #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
            #[derive(serde::Serialize, serde::Deserialize)]
            pub enum $name {
                $( $(#[$one])* #[doc = $label] #[serde(rename = $key)] $member, )+
            }

            impl $crate::brewday::choices::Choice for $name {
                const ALL: &'static [Self] = &[$( Self::$member ),+];

                fn key(self) -> &'static str {
                    match self { $( Self::$member => $key ),+ }
                }

                fn label(self) -> &'static str {
                    match self { $( Self::$member => $label ),+ }
                }
            }

            impl utoipa::PartialSchema for $name {
                fn schema() -> utoipa::openapi::RefOr<utoipa::openapi::Schema> {
                    $crate::brewday::choices::schema::<Self>()
                }
            }

            impl utoipa::ToSchema for $name {}
        )+
    };
}

pub(crate) use choices;

/// A member of a closed set of words.
pub trait Choice: Copy + PartialEq + 'static {
    /// Every member, in the order a page offers them.
    const ALL: &'static [Self];

    /// The word in JSON, in forms and in the file.
    fn key(self) -> &'static str;

    /// The words on the page.
    fn label(self) -> &'static str;

    /// The member with this key, if there is one.
    fn from_key(key: &str) -> Option<Self> {
        Self::ALL.iter().copied().find(|member| member.key() == key)
    }
}

/// The description of a closed set: its keys. (A derive would not see them, as
/// they come out of a macro.)
pub(crate) fn schema<T: Choice>() -> RefOr<Schema> {
    let keys = T::ALL.iter().map(|member| member.key());
    ObjectBuilder::new().schema_type(Type::String).enum_values(Some(keys)).into()
}

choices! {
    /// The six stages of a brew day, in order; they may overlap.
    Stage {
        Prepare = "prepare", "Prepare";
        Mash = "mash", "Mash";
        Boil = "boil", "Boil";
        Chill = "chill", "Chill";
        Pitch = "pitch", "Pitch";
        Clean = "clean", "Clean";
    }

    /// Where a thermometer was read.
    Place {
        Wort = "wort", "Wort";
        Mash = "mash", "Mash";
        StrikeWater = "strike_water", "Strike water";
        Bath = "bath", "Bath";
        Yeast = "yeast", "Yeast";
        Room = "room", "Room";
    }

    /// Where in the day a volume was read.
    VolumePoint {
        Strike = "strike", "Strike water";
        Sparge = "sparge", "Sparge water";
        PreBoil = "pre_boil", "Pre-boil";
        PostBoil = "post_boil", "Post-boil";
        IntoFermenter = "into_fermenter", "Into fermenter";
    }

    /// Where in the day a gravity was read.
    GravityPoint {
        FirstWort = "first_wort", "First wort";
        PreBoil = "pre_boil", "Pre-boil";
        PostBoil = "post_boil", "Post-boil";
        IntoFermenter = "into_fermenter", "Into fermenter";
        Final = "final", "Final";
    }

    /// Where in the day a pH was read.
    PhPoint {
        StrikeWater = "strike_water", "Strike water";
        Mash = "mash", "Mash";
        FirstWort = "first_wort", "First wort";
        PreBoil = "pre_boil", "Pre-boil";
        PostBoil = "post_boil", "Post-boil";
        IntoFermenter = "into_fermenter", "Into fermenter";
        Final = "final", "Final";
    }

    /// What a gravity was read with.
    Instrument {
        Hydrometer = "hydrometer", "Hydrometer";
        Refractometer = "refractometer", "Refractometer";
    }

    /// What takes the heat out of the wort in a cooling stage.
    Cooling {
        StillBath = "still_bath", "Still bath";
        IceBath = "ice_bath", "Ice bath";
        RunningWater = "running_water", "Running water";
        Air = "air", "Air";
    }

    /// What became of an item on a check list.
    Outcome {
        Done = "done", "Done";
        Skipped = "skipped", "Skipped";
    }

    /// What was done to a piece of equipment.
    CareAct {
        Cleaned = "cleaned", "Cleaned";
        Rinsed = "rinsed", "Rinsed";
        Flushed = "flushed", "Flushed";
        Drained = "drained", "Drained";
        BlownDry = "blown_dry", "Blown dry";
        Weighed = "weighed", "Weighed";
        Stored = "stored", "Stored";
    }

    /// What kind of thing a piece of equipment is.
    EquipmentKind {
        MashVessel = "mash_vessel", "Mash vessel";
        Kettle = "kettle", "Kettle";
        Coil = "coil", "Coil";
        PlateChiller = "plate_chiller", "Plate chiller";
        Bucket = "bucket", "Bucket";
        Fermenter = "fermenter", "Fermenter";
        Hose = "hose", "Hose";
        Pump = "pump", "Pump";
        Thermometer = "thermometer", "Thermometer";
        Hydrometer = "hydrometer", "Hydrometer";
        Refractometer = "refractometer", "Refractometer";
        Scale = "scale", "Scale";
        Other = "other", "Other";
    }

    /// Where a fermentable goes in.
    FermentableUse {
        Mash = "mash", "Mash";
        Kettle = "kettle", "Kettle";
    }

    /// The form a hop comes in.
    HopForm {
        Pellet = "pellet", "Pellet";
        Cone = "cone", "Cone";
        Extract = "extract", "Extract";
    }

    /// When a hop goes in.
    HopUse {
        FirstWort = "first_wort", "First wort";
        Boil = "boil", "Boil";
        FlameOut = "flame_out", "Flame-out";
    }

    /// When anything else goes in.
    OtherUse {
        Mash = "mash", "Mash";
        Boil = "boil", "Boil";
        FlameOut = "flame_out", "Flame-out";
        Fermenter = "fermenter", "Fermenter";
    }

    /// Warm-fermented or cold-fermented.
    YeastKind {
        Ale = "ale", "Ale";
        Lager = "lager", "Lager";
    }

    /// How the yeast comes.
    YeastForm {
        Liquid = "liquid", "Liquid";
        Dry = "dry", "Dry";
        Slurry = "slurry", "Slurry";
    }

    /// What a chill plan tries to keep small.
    Aim {
        Time = "time", "Least time";
        Ice = "ice", "Least ice";
        Water = "water", "Least water";
    }

    /// The unit temperatures are shown in.
    TemperatureUnit {
        Celsius = "celsius", "°C";
        Fahrenheit = "fahrenheit", "°F";
    }

    /// The unit volumes are shown in.
    VolumeUnit {
        Litres = "litres", "L";
        UsGallons = "us_gallons", "US gal";
    }

    /// The units masses are shown in.
    MassUnit {
        Metric = "metric", "kg and g";
        Avoirdupois = "avoirdupois", "lb and oz";
    }

    /// The scale gravities are shown on.
    GravityUnit {
        SpecificGravity = "sg", "SG";
        Plato = "plato", "°P";
    }

    /// The scale colours are shown on.
    ColourUnit {
        Ebc = "ebc", "EBC";
        Srm = "srm", "SRM";
    }
}
