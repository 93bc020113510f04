//! What a request may hold, as JSON Schema.
//!
//! It is told by the records' own readers ([`Reader::fields`]), so that what is
//! published can't come to differ from what is taken.
//!
//! [`Reader::fields`]: crate::brewday::fields::Reader::fields

mod bodies;
mod parameters;
mod problem;

pub(super) use bodies::{
    LoggedEntry, NewBatch, NewChillPlan, NewEntries, NewEntry, NewEquipment, NewRecipe, NewTemperature, Replacement,
};
pub(super) use parameters::{After, ById, Paging, Retired};
pub(super) use problem::Problem;

use utoipa::{
    Number,
    openapi::{
        ArrayBuilder, Object, ObjectBuilder, RefOr, Schema,
        schema::{AdditionalProperties, KnownFormat, SchemaFormat, SchemaType, Type},
    },
};

use crate::brewday::fields::{Field, Shape};

/// Schemas of single fields that say more than the reader can tell of them.
type Known<'a> = &'a [(&'a str, RefOr<Schema>)];

/// A body of these fields and no others.
fn closed(fields: &[Field], known: Known<'_>) -> ObjectBuilder {
    open(fields, known).additional_properties(Some(AdditionalProperties::FreeForm(false)))
}

/// A body of these fields, and of what is added.
fn open(fields: &[Field], known: Known<'_>) -> ObjectBuilder {
    fields.iter().fold(ObjectBuilder::new(), |body, field| {
        let schema = known.iter().find(|(name, _)| *name == field.name).map(|(_, schema)| schema.clone());
        let body = body.property(field.name, schema.unwrap_or_else(|| of(field)));
        if field.required { body.required(field.name) } else { body }
    })
}

/// One of these words.
fn words(words: &[&str], required: bool) -> ObjectBuilder {
    let null = (!required).then_some(serde_json::Value::Null);
    let words = words.iter().map(|word| serde_json::Value::from(*word)).chain(null);
    ObjectBuilder::new().schema_type(kind(Type::String, required)).enum_values(Some(words))
}

fn of(field: &Field) -> RefOr<Schema> {
    let Field { shape, required, .. } = field;
    let object = |of| ObjectBuilder::new().schema_type(kind(of, *required));
    let formatted = |of, format| object(of).format(Some(SchemaFormat::KnownFormat(format)));
    let list = |of: Schema, most| {
        ArrayBuilder::new().schema_type(kind(Type::Array, *required)).items(RefOr::T(of)).max_items(Some(most))
    };
    RefOr::T(match shape {
        Shape::Text(longest) => text(*longest, *required).into(),
        Shape::Number(range) => object(Type::Number).minimum(Some(range.min)).maximum(Some(range.max)).into(),
        Shape::Whole => whole(*required).into(),
        Shape::Wholes(most) => list(whole(true).into(), *most).into(),
        Shape::OneOf(all) => words(all, *required).into(),
        Shape::Flag => object(Type::Boolean).into(),
        Shape::Time => formatted(Type::String, KnownFormat::DateTime).into(),
        Shape::Uuid => formatted(Type::String, KnownFormat::Uuid).into(),
        Shape::Texts(longest) => {
            object(Type::Object).additional_properties(Some(RefOr::T(text(*longest, true).into()))).into()
        }
        Shape::Group(fields) => closed(fields, &[]).schema_type(kind(Type::Object, *required)).into(),
        // A list that has to be there has something in it.
        Shape::Rows(most, fields) => list(closed(fields, &[]).into(), *most).min_items(required.then_some(1)).into(),
        Shape::Body => anything().into(),
        Shape::Bodies(most) => list(anything().into(), *most).into(),
    })
}

/// What is left out may as well be null.
fn kind(of: Type, required: bool) -> SchemaType {
    if required { SchemaType::new(of) } else { [of, Type::Null].into_iter().collect() }
}

fn text(longest: usize, required: bool) -> Object {
    let text = ObjectBuilder::new().schema_type(kind(Type::String, required)).max_length(Some(longest));
    // Spaces alone say nothing.
    if required { text.min_length(Some(1)).pattern(Some(r"\S")).build() } else { text.build() }
}

fn whole(required: bool) -> Object {
    let whole = ObjectBuilder::new().schema_type(kind(Type::Integer, required));
    let whole = whole.format(Some(SchemaFormat::KnownFormat(KnownFormat::Int64)));
    whole.minimum(Some(0_usize)).maximum(Some(Number::Int(isize::MAX))).build()
}

fn anything() -> Object {
    ObjectBuilder::new().schema_type(SchemaType::AnyValue).build()
}
