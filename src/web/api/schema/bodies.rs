//! The bodies, each told by its reader.

use utoipa::{
    PartialSchema, ToSchema,
    openapi::{
        ArrayBuilder, ObjectBuilder, OneOfBuilder, Ref, RefOr, Schema,
        schema::{KnownFormat, SchemaFormat, SchemaType, Type},
    },
};

use super::{closed, open, whole, words};
use crate::{
    brewday::{
        Entry, Equipment, Recipe, batch,
        chill_plan::ChillPlanRequest,
        choices::{Choice, EquipmentKind, Instrument},
        entry::{self, KINDS},
        fields::Field,
    },
    web::api::entries,
};

/// Gives each body its schema, under its own name.
macro_rules! bodies {
    ($( $(#[$about:meta])* $name:ident = $schema:expr; )+) => {
        $(
            $(#[$about])*
            pub(in crate::web::api) struct $name;

            impl ToSchema for $name {}

            impl PartialSchema for $name {
                fn schema() -> RefOr<Schema> {
                    RefOr::T(Schema::from($schema))
                }
            }
        )+
    };
}

bodies! {
    /// A recipe to be kept.
    NewRecipe = closed(&Recipe::fields(), &[]);
    /// A piece of equipment to be kept.
    NewEquipment = equipment();
    /// A batch to be started.
    NewBatch = closed(&batch::NewBatch::fields(), &[]);
    /// A chill to be planned.
    NewChillPlan = closed(&ChillPlanRequest::fields(), &[]);
    /// A probe's reading.
    NewTemperature = closed(&Entry::probe_fields(), &[]);
    /// Entries to be appended.
    NewEntries = closed(&entries::fields(), &[("entries", entry_list())]);
    /// An entry to be appended.
    NewEntry = of_kinds(&KINDS, |kind, read_with| {
        closed(&Entry::fields(kind, read_with), &narrowed(kind, read_with))
    });
    /// What stands in an amended entry's place.
    Replacement = of_kinds(&KINDS[..KINDS.len() - 1], |kind, read_with| {
        closed(&entry::Replacement::fields(kind, read_with), &narrowed(kind, read_with))
    });
    /// An entry as it stands in the book.
    LoggedEntry = of_kinds(&KINDS, |kind, read_with| {
        let text = |kind: SchemaType| ObjectBuilder::new().schema_type(kind);
        let time = text(Type::String.into()).format(Some(SchemaFormat::KnownFormat(KnownFormat::DateTime)));
        open(&Entry::fields(kind, read_with), &narrowed(kind, read_with))
            .property("seq", whole(true))
            .property("received_at", time)
            .property("device", text([Type::String, Type::Null].into_iter().collect()))
            .required("seq")
            .required("received_at")
            .required("device")
    });
}

/// One schema for each kind, and for each instrument a gravity is read with.
fn of_kinds(
    kinds: &[&'static str],
    schema: impl Fn(&'static str, Option<Instrument>) -> ObjectBuilder,
) -> OneOfBuilder {
    kinds.iter().fold(OneOfBuilder::new(), |all, &kind| {
        let instruments = Instrument::ALL.iter().copied().map(Some);
        let variants: Vec<_> = if kind == "gravity" { instruments.collect() } else { vec![None] };
        variants.into_iter().fold(all, |all, read_with| all.item(schema(kind, read_with).title(Some(kind))))
    })
}

/// What is fixed where the kind is.
fn narrowed(kind: &str, read_with: Option<Instrument>) -> Vec<(&'static str, RefOr<Schema>)> {
    let only = |word: &str| RefOr::T(words(&[word], true).into());
    let instrument = read_with.map(|instrument| ("instrument", only(instrument.key())));
    let null = ObjectBuilder::new().schema_type(Type::Null);
    let replacement = OneOfBuilder::new().item(Ref::from_schema_name("Replacement")).item(null);
    let replacement = (kind == "amendment").then_some(("replacement", RefOr::T(replacement.into())));
    [("kind", only(kind))].into_iter().chain(instrument).chain(replacement).collect()
}

fn entry_list() -> RefOr<Schema> {
    let entry = Ref::from_schema_name("NewEntry");
    RefOr::T(ArrayBuilder::new().items(entry).max_items(Some(entries::ENTRIES_MOST)).into())
}

/// One schema for all kinds whose fields are the same.
fn equipment() -> OneOfBuilder {
    let mut alike: Vec<(Vec<Field>, Vec<&str>)> = Vec::new();
    for kind in EquipmentKind::ALL {
        let fields = Equipment::fields(*kind);
        match alike.iter_mut().find(|(known, _)| *known == fields) {
            Some((_, kinds)) => kinds.push(kind.key()),
            None => alike.push((fields, vec![kind.key()])),
        }
    }
    let schemas = alike.iter().map(|(fields, kinds)| closed(fields, &[("kind", RefOr::T(words(kinds, true).into()))]));
    schemas.fold(OneOfBuilder::new(), OneOfBuilder::item)
}
