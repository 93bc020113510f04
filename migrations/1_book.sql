-- The book. Every time is UTC milliseconds since 1970, bound from Rust and never
-- made by a default; every mass is kg, every volume L, every temperature °C.

-- The brewer's choices: one row, one JSON document.
create table setting (
    setting_id integer primary key check (setting_id = 1),
    body       text not null constraint setting_is_json check (json_valid(body))
) strict;

-- A recipe is the string of its revisions.
create table recipe (
    recipe_id  integer primary key,
    created_ms integer not null,
    -- Set when the brewer puts it away; it is never deleted, batches hold on to it.
    retired_ms integer
) strict;

-- A revision is never changed: an edit writes the next one. The body is a whole
-- recipe, kept as a document because it is only ever read whole.
create table recipe_revision (
    recipe_id  integer not null references recipe,
    number     integer not null constraint revision_counts_from_one check (number >= 1),
    -- Lifted out of the body, to list and search by.
    name       text not null,
    body       text not null constraint recipe_is_json check (json_valid(body)),
    created_ms integer not null,
    primary key (recipe_id, number)
) strict, without rowid;

create trigger recipe_revision_is_kept before update on recipe_revision
begin select raise(abort, 'a recipe revision is never changed'); end;

create trigger recipe_revision_stays before delete on recipe_revision
begin select raise(abort, 'a recipe revision is never deleted'); end;

create table equipment (
    equipment_id integer primary key,
    kind         text not null,
    name         text not null,
    body         text not null constraint equipment_is_json check (json_valid(body)),
    created_ms   integer not null,
    changed_ms   integer not null,
    retired_ms   integer
) strict;

-- The check lists as the brewer edits them: one row, one JSON document. A batch
-- keeps a copy of its own in its body.
create table check_lists (
    check_lists_id integer primary key check (check_lists_id = 1),
    body           text not null constraint check_lists_is_json check (json_valid(body))
) strict;

create table batch (
    batch_id        integer primary key,
    name            text not null,
    recipe_id       integer not null,
    recipe_revision integer not null,
    volume_l        real not null constraint batch_volume_is_something check (volume_l > 0),
    -- Equipment and check lists as they stood when the batch was started, and the
    -- day's tap temperature and altitude.
    body            text not null constraint batch_is_json check (json_valid(body)),
    created_ms      integer not null,
    foreign key (recipe_id, recipe_revision) references recipe_revision (recipe_id, number)
) strict;

create index batch_by_recipe on batch (recipe_id);

-- The log. It only ever grows: a correction is a new entry.
create table entry (
    -- The order of the book, over all batches.
    seq          integer primary key autoincrement,
    -- Made on the phone (UUID): an entry sent twice is one entry.
    entry_id     blob not null unique constraint entry_id_is_a_uuid check (length(entry_id) = 16),
    -- Null for the house's own log: care of equipment outside any brew day.
    batch_id     integer references batch,
    -- When it happened: the phone's time less what the phone's clock was ahead.
    at_ms        integer not null,
    received_ms  integer not null,
    device       text,
    kind         text not null,
    body         text not null constraint entry_is_json check (json_valid(body)),
    -- The equipment a care entry (or an amendment of one) is about, to look care up by.
    equipment_id integer references equipment
) strict;

create index entry_by_batch on entry (batch_id, seq);
create index entry_by_equipment on entry (equipment_id, seq) where equipment_id is not null;

create trigger entry_is_kept before update on entry
begin select raise(abort, 'the log is append-only'); end;

create trigger entry_stays before delete on entry
begin select raise(abort, 'the log is append-only'); end;

-- What was computed from a batch's log, written in the transaction that changed
-- the log. It can always be rebuilt; `gylebook check` does, and compares.
create table summary (
    batch_id            integer primary key references batch,
    -- The last entry it knows.
    seq                 integer not null,
    -- The whole summary, as the interface gives it.
    body                text not null constraint summary_is_json check (json_valid(body)),
    -- Lifted out of the body, to sort and search the ledger by.
    brewed_ms           integer not null,
    state               text not null,
    original_sg         real,
    into_fermenter_l    real,
    abv_pct             real,
    minutes_to_settled  real,
    standard_chill_min  real,
    -- The wort's cooling as a few points, for the small curve in the ledger.
    curve               text not null constraint curve_is_json check (json_valid(curve))
) strict;

create index summary_by_brewed on summary (brewed_ms);

-- When wort last touched a piece of equipment in a batch, computed from the log
-- as the summary is; with the care entries it tells what state a piece is in.
create table equipment_use (
    batch_id     integer not null references batch,
    equipment_id integer not null references equipment,
    used_ms      integer not null,
    primary key (equipment_id, batch_id)
) strict, without rowid;

create index equipment_use_by_batch on equipment_use (batch_id);
