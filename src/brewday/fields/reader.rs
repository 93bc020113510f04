//! Reading one group of fields.

use std::collections::BTreeMap;

use serde_json::{Map, Value};
use time::{OffsetDateTime, format_description::well_known::Rfc3339};
use uuid::Uuid;

use super::{Fault, Field, Shape, Why};
use crate::brewday::choices::Choice;
use crate::brewday::plausible::Range;

/// More characters than any way to write a UUID has.
const UUID_CHARS: usize = 64;

/// Reads one group of fields and collects what is wrong with them.
///
/// Each reader method returns a stand-in value where the field is faulty;
/// [`Reader::finish`] then refuses the whole, so a stand-in never gets out.
#[derive(Debug)]
pub struct Reader<'a> {
    object: Option<&'a Map<String, Value>>,
    path: String,
    known: Vec<&'static str>,
    faults: Vec<Fault>,
    /// What was asked for, where that is what is wanted: see [`Reader::fields`].
    fields: Option<Vec<Field>>,
}

impl<'a> Reader<'a> {
    /// Starts on a whole body.
    #[must_use]
    pub fn new(body: &'a Value) -> Self {
        Self::at(body, String::new())
    }

    fn at(value: &'a Value, path: String) -> Self {
        let mut reader = Self { object: value.as_object(), path, known: Vec::new(), faults: Vec::new(), fields: None };
        if reader.object.is_none() {
            let field = reader.path.clone();
            reader.faults.push(Fault { field, why: Why::NotAnObject });
        }
        reader
    }

    /// The fields that `read` asks for, found by having it read a body of none
    /// but `given`. One it misses there is one that has to be given.
    pub fn fields<T>(given: &Value, read: impl FnOnce(&mut Reader<'_>) -> T) -> Vec<Field> {
        let mut reader = Reader { fields: Some(Vec::new()), ..Reader::new(given) };
        read(&mut reader);
        reader.into_fields()
    }

    /// Notes something wrong with a field of this group.
    pub fn fault(&mut self, name: &str, why: Why) {
        let field = self.path_of(name);
        self.faults.push(Fault { field, why });
    }

    /// A text that has to be there, without the space around it.
    pub fn text(&mut self, name: &'static str, longest: usize) -> String {
        self.maybe_text(name, longest).unwrap_or_else(|| self.missing(name, String::new()))
    }

    /// A text that may be left out; an empty one counts as left out.
    pub fn maybe_text(&mut self, name: &'static str, longest: usize) -> Option<String> {
        self.text_as(name, longest, || Shape::Text(longest))
    }

    fn text_as(&mut self, name: &'static str, longest: usize, shape: impl FnOnce() -> Shape) -> Option<String> {
        let text = match self.take(name, shape)? {
            Value::String(text) => text.trim(),
            _ => {
                self.fault(name, Why::NotAText);
                return None;
            }
        };
        if text.chars().count() > longest {
            self.fault(name, Why::TooLong(longest));
        }
        (!text.is_empty()).then(|| text.to_owned())
    }

    /// A number that has to be there.
    pub fn number(&mut self, name: &'static str, range: Range) -> f64 {
        self.maybe_number(name, range).unwrap_or_else(|| self.missing(name, range.min))
    }

    /// A number that may be left out.
    pub fn maybe_number(&mut self, name: &'static str, range: Range) -> Option<f64> {
        let value = self.take(name, || Shape::Number(range))?;
        match value.as_f64() {
            None => self.fault(name, Why::NotANumber),
            Some(number) if !range.takes(number) => self.fault(name, Why::Outside(range, number)),
            Some(number) => return Some(number),
        }
        None
    }

    /// An id that has to be there.
    pub fn id(&mut self, name: &'static str) -> i64 {
        self.maybe_id(name).unwrap_or_else(|| self.missing(name, 0))
    }

    /// An id or index that may be left out.
    pub fn maybe_id(&mut self, name: &'static str) -> Option<i64> {
        let value = self.take(name, || Shape::Whole)?;
        let id = value.as_i64().filter(|id| *id >= 0);
        if id.is_none() {
            self.fault(name, Why::Said("A whole number is needed here.".into()));
        }
        id
    }

    /// The ids in a list that may be left out.
    pub fn ids(&mut self, name: &'static str, most: usize) -> Vec<i64> {
        let Some(rows) = self.rows(name, most, || Shape::Wholes(most)) else { return Vec::new() };
        let ids: Vec<i64> = rows.iter().filter_map(Value::as_i64).filter(|id| *id >= 0).collect();
        if ids.len() != rows.len() {
            self.fault(name, Why::Said("A list of whole numbers is needed here.".into()));
        }
        ids
    }

    /// One of a closed set of words, which has to be there.
    pub fn choice<T: Choice>(&mut self, name: &'static str) -> T {
        self.maybe_choice(name).unwrap_or_else(|| self.missing(name, T::ALL[0]))
    }

    /// One of a closed set of words, which may be left out.
    pub fn maybe_choice<T: Choice>(&mut self, name: &'static str) -> Option<T> {
        let words = || T::ALL.iter().map(|member| member.key()).collect();
        let value = self.take(name, || Shape::OneOf(words()))?;
        let member = value.as_str().and_then(T::from_key);
        if member.is_none() {
            self.fault(name, Why::NotOneOf(words()));
        }
        member
    }

    /// Yes or no; left out means no.
    pub fn flag(&mut self, name: &'static str) -> bool {
        match self.take(name, || Shape::Flag) {
            None => false,
            Some(Value::Bool(flag)) => *flag,
            Some(_) => {
                self.fault(name, Why::Said("True or false is needed here.".into()));
                false
            }
        }
    }

    /// A time that may be left out.
    pub fn maybe_time(&mut self, name: &'static str) -> Option<OffsetDateTime> {
        let value = self.take(name, || Shape::Time)?;
        let time = value.as_str().and_then(|text| OffsetDateTime::parse(text.trim(), &Rfc3339).ok());
        if time.is_none() {
            let wanted = "A time as RFC 3339 is needed here, like 2026-03-07T14:42:00Z.";
            self.fault(name, Why::Said(wanted.into()));
        }
        time
    }

    /// A UUID that has to be there.
    pub fn uuid(&mut self, name: &'static str) -> Uuid {
        let Some(text) = self.text_as(name, UUID_CHARS, || Shape::Uuid) else { return self.missing(name, Uuid::nil()) };
        Uuid::parse_str(&text).unwrap_or_else(|_| {
            self.fault(name, Why::Said("A UUID is needed here.".into()));
            Uuid::nil()
        })
    }

    /// Short texts by name, which may be left out.
    pub fn texts(&mut self, name: &'static str, longest: usize) -> BTreeMap<String, String> {
        let Some(value) = self.take(name, || Shape::Texts(longest)) else { return BTreeMap::new() };
        let texts = value.as_object().and_then(|object| {
            let text = |value: &Value| value.as_str().filter(|text| text.chars().count() <= longest).map(str::to_owned);
            object.iter().map(|(name, value)| Some((name.clone(), text(value)?))).collect()
        });
        texts.unwrap_or_else(|| {
            self.fault(name, Why::Said("A group of short texts, one for each field typed, is needed here.".into()));
            BTreeMap::new()
        })
    }

    /// A group of fields within this one, which has to be there.
    pub fn group<T>(&mut self, name: &'static str, read: impl FnOnce(&mut Reader<'_>) -> T) -> T {
        let value = self.take(name, || Shape::Body);
        if value.is_none() {
            self.fault(name, Why::Missing);
        }
        self.part(name, value, read)
    }

    /// A group of fields within this one, which may be left out.
    pub fn maybe_group<T>(&mut self, name: &'static str, read: impl FnOnce(&mut Reader<'_>) -> T) -> Option<T> {
        let value = self.take(name, || Shape::Body);
        let wanted = value.is_some() || self.fields.is_some();
        wanted.then(|| self.part(name, value, read)).filter(|_| value.is_some())
    }

    /// A list of groups of fields; left out means an empty list.
    pub fn each<T>(&mut self, name: &'static str, most: usize, mut read: impl FnMut(&mut Reader<'_>) -> T) -> Vec<T> {
        let rows = self.rows(name, most, || Shape::Bodies(most));
        if self.fields.is_some() {
            let nothing = nothing();
            let row = self.read_part(&nothing, String::new(), &mut read).1;
            self.is_shaped(Shape::Rows(most, row.into_fields()));
        }
        let rows = rows.into_iter().flatten().enumerate();
        rows.map(|(index, row)| {
            let path = format!("{}.{index}", self.path_of(name));
            let (record, part) = self.read_part(row, path, &mut read);
            self.faults.extend(part.into_faults());
            record
        })
        .collect()
    }

    /// The raw value of a field, for a body within a body.
    pub fn value(&mut self, name: &'static str) -> Option<&'a Value> {
        self.take(name, || Shape::Body)
    }

    /// The raw values in a list that has to be there, for bodies within a body.
    pub fn values(&mut self, name: &'static str, most: usize) -> &'a [Value] {
        match self.rows(name, most, || Shape::Bodies(most)) {
            Some(rows) => rows,
            None => self.missing(name, &[]),
        }
    }

    /// Adds the faults found in a body within this one.
    pub fn faults_within(&mut self, name: &str, faults: Vec<Fault>) {
        let path = self.path_of(name);
        let within = |field: &str| if field.is_empty() { path.clone() } else { format!("{path}.{field}") };
        self.faults.extend(faults.into_iter().map(|fault| Fault { field: within(&fault.field), ..fault }));
    }

    /// What was read, if nothing was wrong with it.
    ///
    /// # Errors
    /// Every fault found, fields nobody asked for among them.
    pub fn finish<T>(mut self, record: T) -> Result<T, Vec<Fault>> {
        self.report_unknown();
        if self.faults.is_empty() { Ok(record) } else { Err(self.into_faults()) }
    }

    fn part<T>(&mut self, name: &'static str, value: Option<&Value>, read: impl FnOnce(&mut Reader<'_>) -> T) -> T {
        let nothing = nothing();
        let (record, part) = self.read_part(value.unwrap_or(&nothing), self.path_of(name), read);
        match value {
            Some(_) => self.faults.extend(part.into_faults()),
            // It was said that the group is missing; its fields are not each reported as well.
            None => self.is_shaped(Shape::Group(part.into_fields())),
        }
        record
    }

    fn read_part<'b, T>(
        &self,
        value: &'b Value,
        path: String,
        read: impl FnOnce(&mut Reader<'_>) -> T,
    ) -> (T, Reader<'b>) {
        let mut part = Reader { fields: self.fields.as_ref().map(|_| Vec::new()), ..Reader::at(value, path) };
        let record = read(&mut part);
        part.report_unknown();
        (record, part)
    }

    fn rows(&mut self, name: &'static str, most: usize, shape: impl FnOnce() -> Shape) -> Option<&'a Vec<Value>> {
        let value = self.take(name, shape)?;
        match value.as_array() {
            None => self.fault(name, Why::NotAList),
            Some(rows) if rows.len() > most => self.fault(name, Why::TooLong(most)),
            rows => return rows,
        }
        None
    }

    /// The field, where it is there and not null.
    fn take(&mut self, name: &'static str, shape: impl FnOnce() -> Shape) -> Option<&'a Value> {
        self.known.push(name);
        if let Some(fields) = &mut self.fields {
            fields.push(Field { name, shape: shape(), required: false });
        }
        self.object?.get(name).filter(|value| !value.is_null())
    }

    /// Tells the shape of the field taken last, now that it is known.
    fn is_shaped(&mut self, shape: Shape) {
        if let Some(field) = self.fields.as_mut().and_then(|fields| fields.last_mut()) {
            field.shape = shape;
        }
    }

    /// What was asked for; what was missed is required, and so is what was given.
    fn into_fields(self) -> Vec<Field> {
        let missed = |name: &str| {
            let path = self.path_of(name);
            self.faults.iter().any(|fault| fault.why == Why::Missing && fault.field == path)
        };
        let given = |name: &str| self.object.is_some_and(|object| object.contains_key(name));
        let fields = self.fields.iter().flatten();
        let told = fields.map(|field| Field { required: given(field.name) || missed(field.name), ..field.clone() });
        told.collect()
    }

    /// Whether nothing is wrong with a field so far. One that is faulty has a
    /// stand-in value, which no other field should be measured by.
    #[must_use]
    pub fn is_sound(&self, name: &str) -> bool {
        let path = self.path_of(name);
        !self.faults.iter().any(|fault| fault.field == path)
    }

    /// Notes that a field has to be there, unless it is faulty already.
    pub fn needs(&mut self, name: &str) {
        self.missing(name, ());
    }

    /// What was wrong so far, where the rest can't be judged.
    #[must_use]
    pub fn into_faults(mut self) -> Vec<Fault> {
        // What is no group at all says so once, not once for each field.
        if self.object.is_none() {
            self.faults.truncate(1);
        }
        self.faults
    }

    fn missing<T>(&mut self, name: &str, stand_in: T) -> T {
        // Already refused for another reason: one sentence is enough.
        if self.is_sound(name) {
            self.fault(name, Why::Missing);
        }
        stand_in
    }

    fn report_unknown(&mut self) {
        let Some(object) = self.object else { return };
        let unknown: Vec<String> = object.keys().filter(|key| !self.known.contains(&key.as_str())).cloned().collect();
        for name in unknown {
            self.fault(&name, Why::Unknown);
        }
    }

    fn path_of(&self, name: &str) -> String {
        if self.path.is_empty() { name.to_owned() } else { format!("{}.{name}", self.path) }
    }
}

fn nothing() -> Value {
    Value::Object(Map::new())
}
