//! `/welcome/equipment`: a usual set to look over, change and take into the book.

use askama::Template;
use axum::{
    Router,
    extract::State,
    response::{IntoResponse, Response},
    routing::get,
};
use serde_json::{Map, Value, json};

use crate::brewday::{
    Equipment, Fault,
    choices::{Choice, EquipmentKind},
};
use crate::store::StoredEquipment;
use crate::web::{
    Again, App, AppError, Frame, Page,
    equipment::{Line, kinds},
    form::Form,
    see_other, starter,
};

pub(super) fn router() -> Router<App> {
    Router::new().route("/welcome/equipment", get(show).post(create))
}

#[derive(Template)]
#[template(path = "welcome/equipment.html")]
struct EquipmentPage {
    frame: Frame,
    /// The set, to look over.
    form: Form,
    /// What is in the book already.
    held: Vec<Line>,
}

/// One piece of the set, as the form shows it.
struct Piece {
    row: String,
    /// The names of its fields for its name and for leaving it out.
    named: String,
    left_out: String,
    /// What the brewer calls it.
    name: String,
    /// The key of its kind.
    kind: &'static str,
    /// Its figures, in one line.
    about: String,
    fields: Vec<Field>,
    /// Whether it has something to look at again.
    faulty: bool,
}

struct Field {
    name: String,
    label: &'static str,
    hint: &'static str,
}

impl EquipmentPage {
    fn pieces(&self) -> Vec<Piece> {
        self.form.rows("pieces", 0).into_iter().map(|row| self.piece(row)).collect()
    }

    fn piece(&self, row: String) -> Piece {
        let named = format!("{row}.name");
        let kind = EquipmentKind::from_key(self.form.value(&format!("{row}.kind"))).unwrap_or(EquipmentKind::Other);
        // How sure a reading is can wait until there are some.
        let needs = kinds::needs(kind).iter().filter(|need| need.name != "uncertainty");
        let fields: Vec<Field> = needs
            .map(|need| Field { name: format!("{row}.{}", need.name), label: need.label, hint: need.hint })
            .collect();
        let given = fields.iter().filter(|field| !matches!(self.form.value(&field.name), "" | "0"));
        let about = given.map(|field| {
            let (value, unit) = (self.form.value(&field.name), self.form.unit(&field.name));
            let bare = value.ends_with(|last: char| last.is_ascii_digit());
            let shown = if bare { format!("{value}\u{a0}{unit}") } else { value.to_owned() };
            kinds::in_short(field.name.rsplit('.').next().unwrap_or_default(), field.label, &shown)
        });
        let faulty =
            self.form.fault(&named).is_some() || fields.iter().any(|field| self.form.fault(&field.name).is_some());
        Piece {
            about: about.collect::<Vec<_>>().join(" · "),
            name: self.form.value(&named).to_owned(),
            kind: kind.key(),
            left_out: format!("{row}.left_out"),
            named,
            fields,
            faulty,
            row,
        }
    }
}

async fn show(State(app): State<App>, frame: Frame) -> Result<Response, AppError> {
    let held = lines(&app.store.equipment_list(None, false).await?, &frame);
    let set = json!({ "pieces": starter::equipment() });
    let form = Form::filled(&frame, &set);
    Ok(Page(EquipmentPage { frame, form, held }).into_response())
}

async fn create(State(app): State<App>, frame: Frame, form: Form) -> Result<Response, AppError> {
    let pieces = match form.read(pieces) {
        Ok(pieces) => pieces,
        Err(form) => {
            let held = lines(&app.store.equipment_list(None, false).await?, &frame);
            return Ok(Again(EquipmentPage { frame, form, held }).into_response());
        }
    };
    // Sent twice, the set is still taken once.
    app.store.add_missing_equipment(&pieces, frame.clock.now).await?;
    Ok(see_other("/welcome/recipe"))
}

/// The pieces of the set that aren't left out.
fn pieces(body: &Value) -> Result<Vec<Equipment>, Vec<Fault>> {
    let rows = body.get("pieces").and_then(Value::as_array).map_or(&[][..], Vec::as_slice);
    let (mut pieces, mut faults) = (Vec::new(), Vec::new());
    for (index, row) in rows.iter().enumerate() {
        let place = format!("pieces.{index}.");
        let mut row = row.clone();
        if row.as_object_mut().and_then(|fields| fields.remove("left_out")).is_some() {
            continue;
        }
        row["typed"] = Value::Object(typed_in(body, &place));
        match Equipment::from_body(&row) {
            Ok(piece) => pieces.push(piece),
            Err(found) => {
                faults
                    .extend(found.into_iter().map(|fault| Fault { field: format!("{place}{}", fault.field), ..fault }));
            }
        }
    }
    if faults.is_empty() { Ok(pieces) } else { Err(faults) }
}

/// What was typed in one row, under the names of its own fields.
fn typed_in(body: &Value, place: &str) -> Map<String, Value> {
    let typed = body.get("typed").and_then(Value::as_object).into_iter().flatten();
    typed.filter_map(|(name, text)| Some((name.strip_prefix(place)?.to_owned(), text.clone()))).collect()
}

fn lines(stored: &[StoredEquipment], frame: &Frame) -> Vec<Line> {
    stored.iter().map(|stored| Line::new(&stored.record, frame)).collect()
}
