-- The chill plan kept with a batch, to chill by and to be held against the day.
-- A new one takes the place of the old: what was planned is the last plan made.
create table chill_plan (
    batch_id integer primary key references batch,
    -- What was asked and what was answered, as one document.
    body     text not null constraint chill_plan_is_json check (json_valid(body)),
    kept_ms  integer not null
) strict;
