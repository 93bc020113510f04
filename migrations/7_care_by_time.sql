-- Where the state of a piece of equipment is looked up: its newest use, the newest
-- act of each kind and the newest weighing, whatever ten years of care lie behind.

create index care_in_order on entry (equipment_id, at_ms, seq) where equipment_id is not null and kind = 'care';
create index care_by_act on entry (equipment_id, json_extract(body, '$.act'), at_ms, seq)
where equipment_id is not null and kind = 'care';
create index care_weighed on entry (equipment_id, at_ms, seq)
where equipment_id is not null and kind = 'care' and json_extract(body, '$.mass_kg') is not null;

-- An amendment may move care from one piece to another, so these are looked through
-- for every piece; they are few.
create index care_amended on entry (equipment_id, seq) where equipment_id is not null and kind = 'amendment';

create index use_in_order on equipment_use (equipment_id, used_ms, batch_id);
