-- Who may come in. Nothing here is a password: what a device proves itself with is
-- 256 random bits, and only their SHA-256 is kept.

-- The door itself: one row, made when the book is first opened.
create table door (
    door_id        integer primary key check (door_id = 1),
    -- What form tokens and pairing codes are sealed with (HMAC-SHA-256). In the book,
    -- so that a form left open on a phone still counts after a restart.
    seal_key       blob not null constraint seal_key_is_256_bits check (length(seal_key) = 32),
    -- Where a running server can be reached by other devices; null while none can.
    address        text,
    -- Wrong pairing codes since the last right one, over all windows and restarts.
    wrong_in_a_row integer not null default 0 check (wrong_in_a_row >= 0),
    -- No code is looked at before this. The link and the machine itself are not held up.
    held_until_ms  integer not null default 0
) strict;

-- The one way in that is open just now: a new one takes the place of the last.
create table invitation (
    invitation_id integer primary key check (invitation_id = 1),
    -- SHA-256 of the one-time link's 128 random bits.
    link_hash     blob not null constraint link_hash_is_sha256 check (length(link_hash) = 32),
    -- The sealed six digits; null where none were shown, or once they are burnt.
    code_seal     blob constraint code_seal_is_hmac check (length(code_seal) = 32),
    opened_ms     integer not null,
    closes_ms     integer not null,
    tries_left    integer not null check (tries_left >= 0)
) strict;

-- A device that was let in. Ending it deletes it: what it wrote keeps its name.
create table device (
    -- Never used twice, so that a page left open can't end another device.
    device_id  integer primary key autoincrement,
    -- A person's phone may do all that the pages do; a probe may only post temperatures.
    kind       text not null constraint device_is_of_a_kind check (kind in ('person', 'probe')),
    name       text not null unique,
    token_hash blob not null unique constraint token_hash_is_sha256 check (length(token_hash) = 32),
    paired_ms  integer not null,
    -- To the minute; kept only to be shown, and to end what nobody uses.
    seen_ms    integer not null,
    -- Null for a probe, which is let in until it is ended.
    ends_ms    integer
) strict;
