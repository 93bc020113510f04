-- One index holds all that the ledger is sorted by: a row's own page is read for
-- the rows that are shown, and never to sort the others.
drop index summary_by_brewed;

-- The piece the batch was chilled with, and what its readings say of that piece.
alter table summary add column chiller_id integer references equipment;
alter table summary add column conductance_w_per_k real;
alter table summary add column conductance_se_w_per_k real;
-- Whether a bath tells it, or only running water.
alter table summary add column told_by_bath integer not null default 0 constraint told_by_bath_is_a_bool check (told_by_bath in (0, 1));

create index summary_sorted on summary (
    brewed_ms, state, original_sg, into_fermenter_l, abv_pct, minutes_to_settled, standard_chill_min
);
create index summary_by_chiller on summary (chiller_id, brewed_ms) where conductance_w_per_k is not null;
create index summary_with_curve on summary (brewed_ms, chiller_id) where curve <> '[]';

-- To search and sort by name without reading what else a batch holds.
create index batch_named on batch (name collate nocase, recipe_id, recipe_revision);

-- Every summary is computed anew when the book is next opened.
pragma user_version = 0;
