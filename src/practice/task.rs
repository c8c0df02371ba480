use serde::Serialize;

use super::catalogue::Prepared;
use super::weights::weights;
use crate::record::{Exercise, FileDigest, HandedOut, Opening, ProcedureIdentity, Weight, sha256};

/// All that decides what an attempt is worth beside the student: two attempts can be held against each other where it
/// is the same, whatever name the exercise goes by.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(crate) struct Task {
    exercise: Exercise,
    procedure: Vec<FileDigest>,
    /// The circuits that were to be tested; none where all were, or where the student chose.
    circuits: Vec<String>,
}

impl Task {
    fn new(exercise: &Exercise, procedure: &ProcedureIdentity, circuits: Vec<String>) -> Task {
        // The usual weights are the same whether they are written out or not.
        let weights = weights(exercise).into_iter().map(|(point, weight)| Weight { point, weight }).collect();
        let circuits = if exercise.complaint.is_none() { circuits } else { Vec::new() };
        Task {
            exercise: Exercise { weights, ..exercise.clone() },
            procedure: procedure.files.clone(),
            circuits,
        }
    }

    /// Returns what an attempt was at; none where a session is no attempt.
    pub(crate) fn of(opening: &Opening) -> Option<Task> {
        let planned = opening.plan.iter().flat_map(|plan| &plan.circuits);
        let circuits = planned.map(|planned| planned.circuit.clone()).collect();
        Some(Task::new(opening.exercise.as_deref()?, &opening.procedure, circuits))
    }

    /// Returns by whom it was handed out, and by which rules.
    pub(crate) fn handed_out(&self) -> Option<&HandedOut> {
        self.exercise.handed_out.as_ref()
    }

    pub(crate) fn name(&self) -> &str {
        &self.exercise.name
    }

    /// Returns eight hexadecimal digits that tell it from others of its name: the beginning of a SHA-256.
    pub(crate) fn digest(&self) -> String {
        let text = serde_json::to_vec(self).unwrap_or_default();
        sha256(&text).chars().take(8).collect()
    }

    /// Says what of it is otherwise than in another one; none where nothing is.
    pub(crate) fn differs(&self, from: &Task) -> Option<&'static str> {
        let (one, other) = (&self.exercise, &from.exercise);
        match () {
            () if self == from => None,
            () if one.name != other.name => Some("it has another name"),
            () if one.defects != other.defects => Some("other defects are hidden in it"),
            () if one.handed_out != other.handed_out => {
                Some("it was not handed out by the same key and rules")
            }
            () if one.weights != other.weights => Some("its points weigh otherwise"),
            () if self.circuits != from.circuits => Some("other circuits are tested in it"),
            () if self.procedure != from.procedure => Some("its procedure has another text"),
            () => Some("its rig, its room or its words are others"),
        }
    }
}

impl Prepared {
    /// Returns what attempts at it are at, by this text of its procedure.
    pub(crate) fn task(&self, procedure: &ProcedureIdentity) -> Task {
        Task::new(&self.exercise, procedure, self.circuits.clone())
    }
}
