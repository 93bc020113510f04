//! `/settings`: units, time zone, the name over the door, and this device's light.

use askama::Template;
use axum::{
    Form as Plain, Router,
    extract::State,
    response::{IntoResponse, Response},
    routing::{get, post},
};
use axum_extra::extract::cookie::{Cookie, CookieJar, SameSite};
use serde::Deserialize;
use serde_json::Value;
use time::Duration;

use super::{
    Again, App, AppError, Frame, Page,
    form::{Form, options},
    keep::Copies,
    page::{LIGHT_COOKIE, Light},
    see_other, when,
};
use crate::brewday::{
    Fault, Settings, Units, Why,
    choices::{ColourUnit, GravityUnit, MassUnit, TemperatureUnit, VolumeUnit},
    fields::Reader,
    plausible::{ALTITUDE, NAME_CHARS},
};

/// Browsers keep no cookie longer.
const LIGHT_KEPT: Duration = Duration::days(400);

pub(crate) fn router() -> Router<App> {
    Router::new().route("/settings", get(show).post(update)).route("/settings/light", post(update_light))
}

#[derive(Template)]
#[template(path = "settings.html")]
struct SettingsPage {
    frame: Frame,
    form: Form,
    copies: Copies,
}

impl SettingsPage {
    fn zones(&self) -> Vec<String> {
        when::zone_names()
    }
}

/// A group of units to choose from.
#[derive(Debug)]
pub struct UnitChoice {
    /// The field's name.
    pub name: &'static str,
    /// What they are units of.
    pub legend: &'static str,
    /// Key and label of each.
    pub options: Vec<(&'static str, &'static str)>,
}

/// Every unit a brewer chooses, as a page offers them.
#[must_use]
pub fn unit_choices() -> [UnitChoice; 5] {
    let choice = |name, legend, options| UnitChoice { name, legend, options };
    [
        choice("units.temperature", "Temperatures", options::<TemperatureUnit>()),
        choice("units.volume", "Volumes", options::<VolumeUnit>()),
        choice("units.mass", "Masses", options::<MassUnit>()),
        choice("units.gravity", "Gravities", options::<GravityUnit>()),
        choice("units.colour", "Colours", options::<ColourUnit>()),
    ]
}

#[derive(Deserialize)]
struct LightForm {
    light: String,
}

async fn show(State(app): State<App>, frame: Frame) -> Response {
    let (form, copies) = (filled(&frame), Copies::of(&app.store, &frame));
    Page(SettingsPage { frame, form, copies }).into_response()
}

async fn update(State(app): State<App>, frame: Frame, form: Form) -> Result<Response, AppError> {
    let settings = match form.read(|body| read(body, &frame.settings)) {
        Ok(settings) => settings,
        Err(form) => {
            let copies = Copies::of(&app.store, &frame);
            return Ok(Again(SettingsPage { frame, form, copies }).into_response());
        }
    };
    app.store.save_settings(&settings).await?;
    Ok(see_other("/settings"))
}

async fn update_light(jar: CookieJar, Plain(form): Plain<LightForm>) -> Response {
    let light = Light::from_key(&form.light);
    let cookie = Cookie::build((LIGHT_COOKIE, light.key()))
        .path("/")
        .http_only(true)
        .same_site(SameSite::Strict)
        .max_age(LIGHT_KEPT);
    (jar.add(cookie), see_other("/settings")).into_response()
}

/// A form filled with the settings as they are.
pub(super) fn filled(frame: &Frame) -> Form {
    Form::filled(frame, &serde_json::to_value(&frame.settings).unwrap_or_default())
}

/// The settings a form describes; what it has no field for stays as it was.
pub(super) fn read(body: &Value, before: &Settings) -> Result<Settings, Vec<Fault>> {
    let mut read = Reader::new(body);
    let _ = read.value("typed");
    let units = read.group("units", |read| Units {
        temperature: read.choice("temperature"),
        volume: read.choice("volume"),
        mass: read.choice("mass"),
        gravity: read.choice("gravity"),
        colour: read.choice("colour"),
    });
    let time_zone = read.maybe_text("time_zone", NAME_CHARS);
    if time_zone.as_deref().is_some_and(|name| !when::is_zone(name)) {
        read.fault("time_zone", Why::Said("No time zone of this name is known. Choose one of the list.".into()));
    }
    let settings = Settings {
        house: read.text("house", NAME_CHARS),
        units,
        time_zone,
        altitude_m: read.maybe_number("altitude_m", ALTITUDE),
        welcomed: before.welcomed,
    };
    read.finish(settings)
}
