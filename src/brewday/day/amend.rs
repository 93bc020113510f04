//! Corrections: which entries stand, and as what.

use std::collections::HashMap;

use uuid::Uuid;

use super::{Fate, LogLine, Standing};
use crate::brewday::entry::Amendment;
use crate::brewday::{Body, LoggedEntry};

/// Applies every amendment and returns the whole log with each entry's fate,
/// and what stands, in the order it happened.
///
/// The latest amendment of an entry counts; one it overrules stays readable.
/// An amendment can be struck out itself, which brings back what it covered.
pub(super) fn apply(log: Vec<LoggedEntry>) -> (Vec<LogLine>, Vec<Standing>) {
    let mut lines: Vec<LogLine> =
        log.into_iter().map(|logged| LogLine { logged, fate: Fate::Stands, odd: Vec::new() }).collect();
    lines.sort_by_key(|line| line.logged.seq);

    let amended = settle(&mut lines);
    let mut standing: Vec<Standing> = lines.iter().filter_map(|line| stands(line, &amended)).collect();
    standing.sort_by_key(|entry| (entry.at, entry.seq));
    (lines, standing)
}

/// The amendment each amended entry stands as, by the entry's id.
///
/// Read from the end: whatever a later line has overruled or struck out is
/// known before its own turn comes.
fn settle(lines: &mut [LogLine]) -> HashMap<Uuid, Amendment> {
    let place: HashMap<Uuid, usize> =
        lines.iter().enumerate().map(|(index, line)| (line.logged.entry.id, index)).collect();
    let mut in_force: HashMap<Uuid, (Uuid, Amendment)> = HashMap::new();
    for index in (0..lines.len()).rev() {
        let Body::Amendment(amendment) = lines[index].logged.entry.body.clone() else { continue };
        let Some(&target) = place.get(&amendment.of).filter(|target| **target < index) else { continue };
        if matches!(lines[index].fate, Fate::Voided(_)) {
            continue;
        }
        let id = lines[index].logged.entry.id;
        if amendment.void && is_amendment(&lines[target]) {
            lines[target].fate = Fate::Voided(id);
            continue;
        }
        let root = root_of(lines, &place, target);
        let root_id = lines[root].logged.entry.id;
        match in_force.get(&root_id) {
            Some((later, _)) => lines[index].fate = Fate::Overruled(*later),
            None => {
                lines[root].fate = if amendment.void { Fate::Voided(id) } else { Fate::Replaced(id) };
                in_force.insert(root_id, (id, amendment));
            }
        }
    }
    in_force.into_iter().map(|(root, (_, amendment))| (root, amendment)).collect()
}

/// The plain entry at the bottom of a chain of amendments of amendments.
fn root_of(lines: &[LogLine], place: &HashMap<Uuid, usize>, mut at: usize) -> usize {
    while let Body::Amendment(amendment) = &lines[at].logged.entry.body {
        match place.get(&amendment.of) {
            Some(&earlier) if earlier < at => at = earlier,
            _ => break,
        }
    }
    at
}

fn is_amendment(line: &LogLine) -> bool {
    matches!(line.logged.entry.body, Body::Amendment(_))
}

fn stands(line: &LogLine, amended: &HashMap<Uuid, Amendment>) -> Option<Standing> {
    if is_amendment(line) {
        return None;
    }
    let entry = &line.logged.entry;
    let as_written = as_written(&line.logged);
    match line.fate {
        Fate::Stands | Fate::Overruled(_) => Some(as_written),
        Fate::Voided(_) => None,
        Fate::Replaced(by) => {
            let replacement = amended.get(&entry.id)?.replacement.as_deref()?;
            Some(Standing {
                amended_by: Some(by),
                at: replacement.at.unwrap_or(entry.at),
                body: replacement.body.clone(),
                note: replacement.note.clone(),
                ..as_written
            })
        }
    }
}

/// An entry as it stands while nothing amends it.
pub(super) fn as_written(logged: &LoggedEntry) -> Standing {
    let LoggedEntry { seq, entry, .. } = logged;
    Standing {
        id: entry.id,
        amended_by: None,
        at: entry.at,
        body: entry.body.clone(),
        note: entry.note.clone(),
        seq: *seq,
    }
}
