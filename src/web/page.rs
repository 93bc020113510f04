//! What every page is told, and how a page becomes an answer.

use askama::Template;
use axum::{
    extract::FromRequestParts,
    http::{StatusCode, header, request::Parts},
    response::{Html, IntoResponse, Redirect, Response},
};
use axum_extra::extract::CookieJar;
use time::OffsetDateTime;

use super::{App, AppError, Wall, assets, units::Shown, when::Clock};
use crate::brewday::{Settings, Units, choices::Choice, plausible::Dimension, said::Said};
use crate::science::units::Temperature;

/// The cookie a device keeps its light in.
pub const LIGHT_COOKIE: &str = "gylebook_light";

/// What every page needs beside its own matter: the brewer's choices, what time
/// it is, and how bright this device wants it.
#[derive(Clone, Debug)]
pub struct Frame {
    /// The brewer's choices.
    pub settings: Settings,
    /// The time now, in the brewer's zone.
    pub clock: Clock,
    /// How bright this device wants it.
    pub light: Light,
    /// Whether this is the demo brew house.
    pub demo: bool,
}

/// How bright a device wants its pages.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Light {
    /// As the device itself is set.
    #[default]
    Device,
    /// Dark, for a dark cellar.
    Dim,
    /// Bright, for a sunny yard.
    Bright,
}

impl Light {
    /// Every light with its words, in the order a page offers them.
    pub const ALL: [(Self, &'static str); 3] =
        [(Self::Device, "As this device is set"), (Self::Dim, "Dim"), (Self::Bright, "Bright")];

    /// The word in forms, in the cookie and in `data-light`.
    #[must_use]
    pub fn key(self) -> &'static str {
        match self {
            Self::Device => "device",
            Self::Dim => "dim",
            Self::Bright => "bright",
        }
    }

    /// The light with this key; the device's own for any other word.
    #[must_use]
    pub fn from_key(key: &str) -> Self {
        Self::ALL.into_iter().map(|(light, _)| light).find(|light| light.key() == key).unwrap_or_default()
    }

    pub(super) fn of(parts: &Parts) -> Self {
        let jar = CookieJar::from_headers(&parts.headers);
        jar.get(LIGHT_COOKIE).map(|cookie| Self::from_key(cookie.value())).unwrap_or_default()
    }
}

impl Frame {
    /// A frame that needs no book: for the pages that say the book can't be read.
    #[must_use]
    pub fn bare(light: Light) -> Self {
        let settings = Settings::default();
        Self { clock: Clock::of(&settings, Wall::default().now()), settings, light, demo: false }
    }

    /// A frame outside any request: for what the commands write.
    #[must_use]
    pub fn of(settings: Settings) -> Self {
        Self { clock: Clock::of(&settings, Wall::default().now()), settings, light: Light::Device, demo: false }
    }

    /// The units figures are shown in.
    #[must_use]
    pub fn units(&self) -> Units {
        self.settings.units
    }

    /// A kept value in the brewer's own unit.
    #[must_use]
    pub fn show(&self, value: f64, dimension: Dimension) -> Shown {
        super::units::show(value, dimension, &self.settings.units)
    }

    /// A computed value in the brewer's own unit.
    #[must_use]
    pub fn show_computed(&self, value: f64, dimension: Dimension) -> Shown {
        super::units::show_computed(value, dimension, &self.settings.units)
    }

    /// The same frame with its clock stopped on a day: its times stand alone,
    /// those of other days with their date.
    #[must_use]
    pub fn on(&self, day: OffsetDateTime) -> Self {
        let mut that_day = self.clone();
        that_day.clock.now = day;
        that_day
    }

    /// A computed value as far as it can be trusted, and its standard error.
    #[must_use]
    pub fn show_measured(&self, value: f64, se: f64, dimension: Dimension) -> (Shown, Option<String>) {
        super::units::show_measured(value, se, dimension, &self.settings.units)
    }

    /// The same in a line: "1.0820 ± 0.0006 SG".
    #[must_use]
    pub fn say_measured(&self, value: f64, se: f64, dimension: Dimension) -> String {
        let (Shown { text, unit }, se) = self.show_measured(value, se, dimension);
        let text = se.map_or_else(|| text.clone(), |se| format!("{text} ± {se}"));
        Shown { text, unit }.to_string()
    }

    /// What a field is filled with, so that reading it gives the kept value back.
    #[must_use]
    pub fn as_typed(&self, value: f64, dimension: Dimension) -> String {
        super::units::as_typed(value, dimension, &self.settings.units)
    }

    /// A temperature that a rule or a name is about: "80 °C", "176 °F".
    #[must_use]
    pub fn mark(&self, celsius: f64) -> Shown {
        super::units::mark(celsius, &self.settings.units)
    }

    /// The temperature that volumes and gravities are brought to: "20 °C", "68 °F".
    #[must_use]
    pub fn reference(&self) -> Shown {
        self.mark(Temperature::REFERENCE.celsius())
    }

    /// A sentence of the record with its figures in the brewer's own units.
    #[must_use]
    pub fn speak(&self, said: &Said) -> String {
        super::units::speak(said, &self.settings.units)
    }

    /// A temperature on the brewer's own scale, for a picture's axis.
    #[must_use]
    pub fn degrees(&self, celsius: f64) -> f64 {
        super::units::on_scale(celsius, Dimension::Temperature, &self.settings.units)
    }

    /// The brewer's own scale of temperature: °C or °F.
    #[must_use]
    pub fn degree_unit(&self) -> &'static str {
        self.settings.units.temperature.label()
    }

    /// When this page was made, for a phone to hold its own clock against.
    #[must_use]
    pub fn made_at(&self) -> String {
        super::when::utc_ms(self.clock.now)
    }

    /// The address of an embedded file.
    #[must_use]
    pub fn asset(&self, path: &str) -> String {
        assets::address(path)
    }
}

impl FromRequestParts<App> for Frame {
    type Rejection = AppError;

    async fn from_request_parts(parts: &mut Parts, app: &App) -> Result<Self, AppError> {
        // A form asks for it too: one request reads the settings once.
        if let Some(frame) = parts.extensions.get::<Self>() {
            return Ok(frame.clone());
        }
        let settings = app.store.settings().await?;
        let clock = Clock::of(&settings, app.now());
        let frame = Self { clock, settings, light: Light::of(parts), demo: app.options.demo };
        parts.extensions.insert(frame.clone());
        Ok(frame)
    }
}

/// A page, answered with 200.
#[derive(Debug)]
pub struct Page<T>(pub T);

/// A page whose form came back to be looked at again, answered with 422.
#[derive(Debug)]
pub struct Again<T>(pub T);

impl<T: Template> IntoResponse for Page<T> {
    fn into_response(self) -> Response {
        match self.0.render() {
            Ok(text) => Html(text).into_response(),
            Err(error) => AppError::internal(error).into_response(),
        }
    }
}

impl<T: Template> IntoResponse for Again<T> {
    fn into_response(self) -> Response {
        (StatusCode::UNPROCESSABLE_ENTITY, Page(self.0)).into_response()
    }
}

/// What a table with a heading is [RFC 4180].
pub(super) const CSV_TYPE: &str = "text/csv; charset=utf-8; header=present";

/// A table to be kept as a file.
#[must_use]
pub fn csv_file(name: &str, table: String) -> Response {
    file(name, CSV_TYPE, table)
}

/// Something to be kept as a file of this name.
#[must_use]
pub fn file(name: &str, kind: &'static str, body: impl IntoResponse) -> Response {
    let head = [
        (header::CONTENT_TYPE, kind.to_owned()),
        (header::CONTENT_DISPOSITION, format!("attachment; filename=\"{name}\"")),
    ];
    (head, body).into_response()
}

/// After a form was kept: go and look at this page.
#[must_use]
pub fn see_other(path: &str) -> Response {
    let mut response = Redirect::to(path).into_response();
    // The redirect's own answer has nothing to show and nothing to keep.
    response.headers_mut().remove(header::CONTENT_TYPE);
    response
}
