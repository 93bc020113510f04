//! What a recipe should give, as a page tells it: every figure, or why not.

use crate::{
    brewday::{
        EquipmentRecord, Recipe,
        choices::EquipmentKind,
        plan::{Assumed, Basis, DayPlan, Habits, Water},
        plausible::Dimension,
    },
    web::{App, AppError, Frame},
};

/// What a recipe should give, ready to be read.
#[derive(Clone, Debug)]
pub(super) struct Figures {
    /// Gravity, bitterness and colour, for a list or a bar.
    pub(super) brief: Vec<String>,
    /// The three a recipe is known by, each with why it is missing or how it was found.
    pub(super) wort: [Figure; 3],
    /// The yeast cells such a wort wants.
    pub(super) cells: Figure,
    /// The water to heat and where it gets to, or why it can't be told.
    pub(super) water: Result<WaterFigures, String>,
    /// What the figures rest on.
    pub(super) rests_on: Vec<String>,
}

/// The water, before the mash rests and after them.
#[derive(Clone, Debug)]
pub(super) struct WaterFigures {
    /// Into the mash.
    pub(super) mash: Vec<Figure>,
    /// Over the grain, and what is then in the kettle.
    pub(super) kettle: Vec<Figure>,
}

impl WaterFigures {
    /// All of them, in the order they are needed.
    pub(super) fn all(&self) -> impl Iterator<Item = &Figure> {
        self.mash.iter().chain(&self.kettle)
    }
}

/// One figure.
#[derive(Clone, Debug)]
pub(super) struct Figure {
    /// What it is.
    pub(super) name: &'static str,
    /// The figure with its unit; empty where it can't be told.
    pub(super) text: String,
    /// Why it can't be told, or how far it can be trusted.
    pub(super) note: String,
}

impl Figure {
    fn new(name: &'static str, text: impl ToString, note: &str) -> Self {
        Self { name, text: text.to_string(), note: note.to_owned() }
    }

    fn told(name: &'static str, found: &Result<f64, String>, note: &str, text: impl Fn(f64) -> String) -> Self {
        match found {
            Ok(value) => Self::new(name, text(*value), note),
            Err(why) => Self::new(name, "", why),
        }
    }
}

/// The brew house a recipe's figures may count on.
#[derive(Clone, Debug)]
pub(super) struct House {
    /// The vessels the book has just one of.
    vessels: Vec<EquipmentRecord>,
    /// What the batches made with them say.
    habits: Habits,
}

impl House {
    pub(super) async fn load(app: &App) -> Result<Self, AppError> {
        let mut vessels = Vec::new();
        let mut ids = [None; 2];
        for (id, kind) in ids.iter_mut().zip([EquipmentKind::Kettle, EquipmentKind::MashVessel]) {
            if let [only] = app.store.equipment_list(Some(kind), false).await?.as_slice() {
                *id = Some(only.record.id);
                vessels.push(only.record.clone());
            }
        }
        let [kettle, mash_vessel] = ids;
        Ok(Self { vessels, habits: app.store.habits(kettle, mash_vessel).await? })
    }
}

impl Figures {
    /// What a recipe should give in this brew house.
    pub(super) fn of(recipe: &Recipe, house: &House, frame: &Frame) -> Self {
        let plan = DayPlan::of(recipe, &house.vessels, frame.settings.altitude_m, house.habits);
        let gravity = if recipe.fermentables.is_empty() {
            Err("No malt or sugar counts yet.".to_owned())
        } else {
            Ok(plan.expected.original_sg)
        };
        let wort = [
            Figure::told("Original gravity", &gravity, "Predicted", |sg| {
                frame.show(sg, Dimension::Gravity).to_string()
            }),
            Figure::told("Bitterness", &plan.expected.bitterness_ibu, "Estimate (Tinseth)", ibu),
            Figure::told("Colour", &plan.expected.colour_ebc, "Estimate (Morey)", |ebc| {
                frame.show(ebc, Dimension::Colour).to_string()
            }),
        ];
        let cells = match &gravity {
            Ok(_) => plan.expected.cells_needed_billion.clone(),
            Err(_) => Err("How much yeast it wants follows from its malt.".to_owned()),
        };
        // Of a recipe without hops "0 IBU" would tell nothing.
        let has_hops = !recipe.hops.is_empty();
        let is_told = |figure: &&Figure| !figure.text.is_empty() && (has_hops || figure.name != "Bitterness");
        let brief = wort.iter().filter(is_told).map(|figure| figure.text.clone());
        Self {
            brief: brief.collect(),
            wort,
            cells: Figure::told("Yeast cells wanted", &cells, "", billions),
            water: plan.water.map(|water| water_figures(&water, frame)).map_err(|why| frame.speak(&why)),
            rests_on: plan.assumed.iter().map(|assumed| in_words(assumed, frame)).collect(),
        }
    }
}

fn water_figures(water: &Water, frame: &Frame) -> WaterFigures {
    let volume = |name, litres, note| Figure::new(name, frame.show(litres, Dimension::Volume), note);
    let strike = frame.show(water.strike_c, Dimension::Temperature);
    let mash = frame.show(water.mash_c, Dimension::Temperature);
    WaterFigures {
        mash: vec![
            volume("Mash water", water.mash_l, ""),
            Figure::new("Strike temperature", strike, &format!("Brings the mash to {mash}")),
        ],
        kettle: vec![
            volume("Sparge water", water.sparge_l, ""),
            volume("Before the boil", water.pre_boil_hot_l, "As the hot kettle shows it"),
            Figure::new("Gravity before the boil", frame.show(water.pre_boil_sg, Dimension::Gravity), ""),
        ],
    }
}

fn in_words(assumed: &Assumed, frame: &Frame) -> String {
    let value = frame.show(assumed.value, assumed.dimension);
    let basis = match assumed.basis {
        Basis::Recipe => "as this recipe says".to_owned(),
        Basis::Equipment => "as your vessel says".to_owned(),
        Basis::Batches(1) => "from your last batch".to_owned(),
        Basis::Batches(count) => format!("the middle of your last {count} batches"),
        Basis::CommonPractice => "common practice, until your own is known".to_owned(),
    };
    format!("{} {value}: {basis}.", assumed.what)
}

/// Bitterness units in whole numbers: the estimate is no better than that.
pub(super) fn ibu(value: f64) -> String {
    format!("{value:.0}\u{a0}IBU")
}

/// Yeast cells in whole thousand millions.
pub(super) fn billions(value: f64) -> String {
    format!("{value:.0}\u{a0}billion")
}
