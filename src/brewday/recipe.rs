//! A recipe: what goes in, when, and what is meant to come out.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};
use serde_json::{Value, json};
use utoipa::ToSchema;

use super::choices::{FermentableUse, HopForm, HopUse, OtherUse, YeastForm, YeastKind};
use super::fields::{Fault, Field, Reader, Why};
use super::plausible::{
    CELLS, COLOUR, LINE_CHARS, MASS, MINUTES, NAME_CHARS, NOTE_CHARS, PERCENT, ROWS, SMALL_MASS, TEMPERATURE, VOLUME,
    VOLUME_OR_NONE,
};

/// What was typed, by field path, where it was typed on a page: "10 lb" beside
/// the kilograms that are kept.
pub type Typed = BTreeMap<String, String>;

/// One revision of a recipe. A batch keeps the one it was brewed from.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Recipe {
    /// What the brewer calls it.
    pub name: String,
    /// The style, in the brewer's own words.
    pub style: Option<String>,
    /// Wort into the fermenter, at 20 °C.
    pub volume_l: f64,
    /// Minutes of boil.
    pub boil_min: f64,
    /// Water the mash is struck with, where the brewer sets it.
    pub mash_water_l: Option<f64>,
    /// Water the grain is sparged with, where the brewer sets it.
    pub sparge_water_l: Option<f64>,
    /// The wort temperature to pitch at.
    pub target_pitch_c: f64,
    /// The coldest the yeast should be pitched at.
    pub pitch_low_c: f64,
    /// The warmest the yeast should be pitched at.
    pub pitch_high_c: f64,
    /// Anything else worth knowing.
    pub notes: Option<String>,
    /// Malt, grain, sugar and extract.
    pub fermentables: Vec<Fermentable>,
    /// Hops.
    pub hops: Vec<Hop>,
    /// Rests of the mash, in order.
    pub mash_rests: Vec<MashRest>,
    /// The yeast.
    pub yeast: Option<Yeast>,
    /// Salts, finings, spices.
    pub other: Vec<Other>,
    /// What was typed, where it was typed.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    #[schema(value_type = BTreeMap<String, String>)]
    pub typed: Typed,
}

/// Something that brings extract.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Fermentable {
    /// Its name.
    pub name: String,
    /// How much of it, as weighed from the sack.
    pub mass_kg: f64,
    /// Laboratory yield (fine grind), dry basis.
    pub yield_pct: f64,
    /// Moisture.
    pub moisture_pct: f64,
    /// Colour.
    pub colour_ebc: f64,
    /// Where it goes in.
    #[serde(rename = "use")]
    pub used: FermentableUse,
}

/// A hop addition.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Hop {
    /// Its name.
    pub name: String,
    /// How much of it.
    pub mass_kg: f64,
    /// Alpha acids by mass.
    pub alpha_pct: f64,
    /// The form it comes in.
    pub form: HopForm,
    /// When it goes in.
    #[serde(rename = "use")]
    pub used: HopUse,
    /// Minutes before flame-out.
    pub min: f64,
}

/// A rest of the mash.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct MashRest {
    /// The mash's temperature.
    pub temperature_c: f64,
    /// How long it rests.
    pub min: f64,
}

/// The yeast to pitch.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Yeast {
    /// Its name.
    pub name: String,
    /// Warm- or cold-fermented.
    pub kind: YeastKind,
    /// How it comes.
    pub form: YeastForm,
    /// Viable cells, where they are known.
    pub cells_billion: Option<f64>,
    /// Its mass, where that is known.
    pub mass_kg: Option<f64>,
}

/// A salt, a fining, a spice.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Other {
    /// Its name.
    pub name: String,
    /// How much of it.
    pub mass_kg: f64,
    /// When it goes in.
    #[serde(rename = "use")]
    pub used: OtherUse,
    /// Minutes before flame-out where it is boiled, else from the start of its stage.
    pub min: f64,
}

impl Recipe {
    /// Reads a recipe from a body of canonical fields.
    ///
    /// # Errors
    /// Every fault found, each with its field.
    pub fn from_body(body: &Value) -> Result<Self, Vec<Fault>> {
        let mut read = Reader::new(body);
        let recipe = Self::read(&mut read);
        read.finish(recipe)
    }

    /// The fields of a body, for whoever writes one.
    #[must_use]
    pub fn fields() -> Vec<Field> {
        Reader::fields(&json!({}), Self::read)
    }

    fn read(read: &mut Reader<'_>) -> Self {
        let recipe = Self {
            name: read.text("name", NAME_CHARS),
            style: read.maybe_text("style", NAME_CHARS),
            volume_l: read.number("volume_l", VOLUME),
            boil_min: read.number("boil_min", MINUTES),
            mash_water_l: read.maybe_number("mash_water_l", VOLUME_OR_NONE),
            sparge_water_l: read.maybe_number("sparge_water_l", VOLUME_OR_NONE),
            target_pitch_c: read.number("target_pitch_c", TEMPERATURE),
            pitch_low_c: read.number("pitch_low_c", TEMPERATURE),
            pitch_high_c: read.number("pitch_high_c", TEMPERATURE),
            notes: read.maybe_text("notes", NOTE_CHARS),
            fermentables: read.each("fermentables", ROWS, Fermentable::read),
            hops: read.each("hops", ROWS, Hop::read),
            mash_rests: read.each("mash_rests", ROWS, MashRest::read),
            yeast: read.maybe_group("yeast", Yeast::read),
            other: read.each("other", ROWS, Other::read),
            typed: read.texts("typed", LINE_CHARS),
        };
        if ["target_pitch_c", "pitch_low_c", "pitch_high_c"].iter().all(|name| read.is_sound(name)) {
            recipe.check_pitch(read);
        }
        if read.is_sound("boil_min") {
            recipe.check_hops(read);
        }
        recipe
    }

    fn check_pitch(&self, read: &mut Reader<'_>) {
        if self.pitch_low_c > self.pitch_high_c {
            read.fault("pitch_low_c", Why::Said("The low end of the pitch range is above its high end.".into()));
        } else if !(self.pitch_low_c..=self.pitch_high_c).contains(&self.target_pitch_c) {
            read.fault("target_pitch_c", Why::Said("The pitch target lies outside the pitch range.".into()));
        }
    }

    fn check_hops(&self, read: &mut Reader<'_>) {
        for (index, hop) in self.hops.iter().enumerate().filter(|(_, hop)| hop.min > self.boil_min) {
            let long = format!("{} min is longer than the boil of {} min.", hop.min, self.boil_min);
            read.fault(&format!("hops.{index}.min"), Why::Said(long));
        }
    }

    /// The same recipe for another volume: every amount in proportion.
    #[must_use]
    pub fn scaled_to(&self, volume_l: f64) -> Self {
        let factor = volume_l / self.volume_l;
        let mut scaled = self.clone();
        scaled.volume_l = volume_l;
        scaled.mash_water_l = self.mash_water_l.map(|water| water * factor);
        scaled.sparge_water_l = self.sparge_water_l.map(|water| water * factor);
        scaled.fermentables.iter_mut().for_each(|one| one.mass_kg *= factor);
        scaled.hops.iter_mut().for_each(|one| one.mass_kg *= factor);
        scaled.other.iter_mut().for_each(|one| one.mass_kg *= factor);
        if let Some(yeast) = &mut scaled.yeast {
            yeast.mass_kg = yeast.mass_kg.map(|mass| mass * factor);
            yeast.cells_billion = yeast.cells_billion.map(|cells| cells * factor);
        }
        scaled.typed.clear();
        scaled
    }
}

impl Fermentable {
    fn read(read: &mut Reader<'_>) -> Self {
        Self {
            name: read.text("name", NAME_CHARS),
            mass_kg: read.number("mass_kg", MASS),
            yield_pct: read.number("yield_pct", PERCENT),
            moisture_pct: read.number("moisture_pct", PERCENT),
            colour_ebc: read.number("colour_ebc", COLOUR),
            used: read.choice("use"),
        }
    }
}

impl Hop {
    fn read(read: &mut Reader<'_>) -> Self {
        Self {
            name: read.text("name", NAME_CHARS),
            mass_kg: read.number("mass_kg", SMALL_MASS),
            alpha_pct: read.number("alpha_pct", PERCENT),
            form: read.choice("form"),
            used: read.choice("use"),
            min: read.number("min", MINUTES),
        }
    }
}

impl MashRest {
    fn read(read: &mut Reader<'_>) -> Self {
        Self { temperature_c: read.number("temperature_c", TEMPERATURE), min: read.number("min", MINUTES) }
    }
}

impl Yeast {
    fn read(read: &mut Reader<'_>) -> Self {
        Self {
            name: read.text("name", NAME_CHARS),
            kind: read.choice("kind"),
            form: read.choice("form"),
            cells_billion: read.maybe_number("cells_billion", CELLS),
            mass_kg: read.maybe_number("mass_kg", SMALL_MASS),
        }
    }
}

impl Other {
    fn read(read: &mut Reader<'_>) -> Self {
        Self {
            name: read.text("name", NAME_CHARS),
            mass_kg: read.number("mass_kg", SMALL_MASS),
            used: read.choice("use"),
            min: read.number("min", MINUTES),
        }
    }
}
