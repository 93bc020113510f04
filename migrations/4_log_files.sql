-- A thermometer's own log that was brought in. The file waits here until the
-- brewer has said which column is what; its readings then become entries like any
-- other, whose ids are made from this one and the line they stand on.
create table log_file (
    log_file_id blob primary key constraint log_file_id_is_a_uuid check (length(log_file_id) = 16),
    batch_id    integer not null references batch,
    -- What the file was called where it came from.
    name        text not null,
    brought_ms  integer not null,
    -- The file as it came; let go of once its readings are in the log.
    body        blob,
    -- Which column is what, as one document; null until the brewer has said so.
    mapping     text constraint mapping_is_json check (mapping is null or json_valid(mapping)),
    -- Readings that are to come in, and how many of them were seen to so far.
    total       integer not null default 0,
    done        integer not null default 0,
    -- The last line a reading stands on: with it every id can be made again.
    last_line   integer not null default 0,
    finished_ms integer,
    undone_ms   integer
) strict, without rowid;

create index log_file_by_batch on log_file (batch_id);
