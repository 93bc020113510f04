//! From a body of named fields to a record: everything wrong with it is found
//! at once, and each finding names its field.
//!
//! JSON from a script and a form from a page both arrive here as one
//! [`serde_json::Value`] with canonical units, so they cannot come to differ.

use std::fmt;

use serde_json::{Map, Value};

use super::choices::Choice;
use super::plausible::Range;

/// One thing that is wrong with one field.
#[derive(Clone, Debug, PartialEq)]
pub struct Fault {
    /// The field's path: `mass_kg`, or `hops.2.alpha_pct` in a list.
    pub field: String,
    /// What is wrong with it.
    pub why: Why,
}

impl Fault {
    /// A fault told in a sentence of its own.
    pub fn new(field: impl Into<String>, why: impl Into<String>) -> Self {
        Self { field: field.into(), why: Why::Said(why.into()) }
    }
}

/// What is wrong with a field.
#[derive(Clone, Debug, PartialEq)]
pub enum Why {
    /// It has to be there.
    Missing,
    /// Nothing here is called that.
    Unknown,
    /// A number was wanted.
    NotANumber,
    /// A text was wanted.
    NotAText,
    /// A list was wanted.
    NotAList,
    /// A group of fields was wanted.
    NotAnObject,
    /// The number is outside what is plausible.
    Outside(Range, f64),
    /// More characters, or rows, than are kept.
    TooLong(usize),
    /// One of these words was wanted.
    NotOneOf(Vec<&'static str>),
    /// Anything else, told in a sentence.
    Said(String),
}

impl fmt::Display for Why {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Missing => f.write_str("This is needed."),
            Self::Unknown => f.write_str("There is no field of this name here."),
            Self::NotANumber => f.write_str("A number is needed here."),
            Self::NotAText => f.write_str("A text is needed here."),
            Self::NotAList => f.write_str("A list is needed here."),
            Self::NotAnObject => f.write_str("A group of fields is needed here."),
            Self::Outside(range, value) => {
                write!(f, "{value} is outside what {} can be: {} to {}.", range.what, range.min, range.max)
            }
            Self::TooLong(most) => write!(f, "This is too long: at most {most} are kept."),
            Self::NotOneOf(words) => write!(f, "One of these is needed: {}.", words.join(", ")),
            Self::Said(sentence) => f.write_str(sentence),
        }
    }
}

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
}

impl<'a> Reader<'a> {
    /// Starts on a whole body.
    #[must_use]
    pub fn new(body: &'a Value) -> Self {
        Self::at(body, String::new())
    }

    fn at(value: &'a Value, path: String) -> Self {
        let mut reader = Self { object: value.as_object(), path, known: Vec::new(), faults: Vec::new() };
        if reader.object.is_none() {
            let field = reader.path.clone();
            reader.faults.push(Fault { field, why: Why::NotAnObject });
        }
        reader
    }

    /// Notes something wrong with a field of this group.
    pub fn fault(&mut self, name: &str, why: Why) {
        let field = self.path_of(name);
        self.faults.push(Fault { field, why });
    }

    /// Whether a field was read without a fault, so that another may be held against it.
    #[must_use]
    pub fn is_sound(&self, name: &str) -> bool {
        let field = self.path_of(name);
        !self.faults.iter().any(|fault| fault.field == field)
    }

    /// A text that has to be there, without the space around it.
    pub fn text(&mut self, name: &'static str, longest: usize) -> String {
        self.maybe_text(name, longest).unwrap_or_else(|| self.missing(name, String::new()))
    }

    /// A text that may be left out; an empty one counts as left out.
    pub fn maybe_text(&mut self, name: &'static str, longest: usize) -> Option<String> {
        let text = match self.take(name)? {
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
        let value = self.take(name)?;
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
        let value = self.take(name)?;
        let id = value.as_i64().filter(|id| *id >= 0);
        if id.is_none() {
            self.fault(name, Why::Said("A whole number is needed here.".into()));
        }
        id
    }

    /// The ids in a list that may be left out.
    pub fn ids(&mut self, name: &'static str, most: usize) -> Vec<i64> {
        let Some(rows) = self.rows(name, most) else { return Vec::new() };
        let ids: Vec<i64> = rows.iter().filter_map(Value::as_i64).collect();
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
        let value = self.take(name)?;
        let member = value.as_str().and_then(T::from_key);
        if member.is_none() {
            self.fault(name, Why::NotOneOf(T::ALL.iter().map(|member| member.key()).collect()));
        }
        member
    }

    /// Yes or no; left out means no.
    pub fn flag(&mut self, name: &'static str) -> bool {
        match self.take(name) {
            None => false,
            Some(Value::Bool(flag)) => *flag,
            Some(_) => {
                self.fault(name, Why::Said("True or false is needed here.".into()));
                false
            }
        }
    }

    /// A group of fields within this one, which has to be there.
    pub fn group<T>(&mut self, name: &'static str, read: impl FnOnce(&mut Reader<'_>) -> T) -> T {
        let nothing = Value::Object(Map::new());
        let value = self.take(name);
        if value.is_none() {
            self.fault(name, Why::Missing);
        }
        let path = self.path_of(name);
        // Where the group is missing, its fields are not each reported as well.
        let silent = value.is_none();
        let (read, faults) = Self::read_part(value.unwrap_or(&nothing), path, read);
        if !silent {
            self.faults.extend(faults);
        }
        read
    }

    /// A list of groups of fields; left out means an empty list.
    pub fn each<T>(&mut self, name: &'static str, most: usize, mut read: impl FnMut(&mut Reader<'_>) -> T) -> Vec<T> {
        let Some(rows) = self.rows(name, most) else { return Vec::new() };
        rows.iter()
            .enumerate()
            .map(|(index, row)| {
                let path = format!("{}.{index}", self.path_of(name));
                let (record, faults) = Self::read_part(row, path, &mut read);
                self.faults.extend(faults);
                record
            })
            .collect()
    }

    /// The raw value of a field, for a body within a body.
    pub fn value(&mut self, name: &'static str) -> Option<&'a Value> {
        self.take(name)
    }

    /// Adds the faults found in a body within this one.
    pub fn faults_within(&mut self, name: &str, faults: Vec<Fault>) {
        let path = self.path_of(name);
        self.faults.extend(faults.into_iter().map(|fault| Fault { field: format!("{path}.{}", fault.field), ..fault }));
    }

    /// What was read, if nothing was wrong with it.
    ///
    /// # Errors
    /// Every fault found, fields nobody asked for among them.
    pub fn finish<T>(mut self, record: T) -> Result<T, Vec<Fault>> {
        self.report_unknown();
        if self.faults.is_empty() { Ok(record) } else { Err(self.faults) }
    }

    fn read_part<T>(value: &Value, path: String, read: impl FnOnce(&mut Reader<'_>) -> T) -> (T, Vec<Fault>) {
        let mut part = Reader::at(value, path);
        let record = read(&mut part);
        part.report_unknown();
        // A part that is no group at all says so once, not once for each field.
        if part.object.is_none() {
            part.faults.truncate(1);
        }
        (record, part.faults)
    }

    fn rows(&mut self, name: &'static str, most: usize) -> Option<&'a Vec<Value>> {
        let value = self.take(name)?;
        match value.as_array() {
            None => self.fault(name, Why::NotAList),
            Some(rows) if rows.len() > most => self.fault(name, Why::TooLong(most)),
            rows => return rows,
        }
        None
    }

    /// The field, where it is there and not null.
    fn take(&mut self, name: &'static str) -> Option<&'a Value> {
        self.known.push(name);
        self.object?.get(name).filter(|value| !value.is_null())
    }

    fn missing<T>(&mut self, name: &str, stand_in: T) -> T {
        let field = self.path_of(name);
        // Already refused for another reason: one sentence is enough.
        if !self.faults.iter().any(|fault| fault.field == field) {
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
