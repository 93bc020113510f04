-- What a form made. The same form sent again, by a second tap or by a phone that
-- never got its answer, is answered by this row and makes nothing more.
create table made_once (
    -- SHA-256 of the key the form was shown with, where it goes and what was in it.
    form_hash blob primary key constraint form_hash_is_sha256 check (length(form_hash) = 32),
    -- The number of what was made: a recipe's, a revision's, a batch's.
    made      integer not null,
    made_ms   integer not null
) strict, without rowid;

-- The check lists as they were before a change, to be had back.
create table check_lists_before (
    -- Never used twice, so that a page left open brings back what it shows.
    number   integer primary key autoincrement,
    body     text not null constraint check_lists_before_is_json check (json_valid(body)),
    -- Until when the book had these.
    until_ms integer not null
) strict;
