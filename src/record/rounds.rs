//! Pieces that are read in rounds: circuits that are named "piece 3, round 2".

use super::{Circuit, Plan, Planned};
use crate::rig::simulated::Chance;

/// Splits the name of a circuit into the piece that it is and the round in which that is read, from 1; none
/// where it names no round.
pub(crate) fn piece_in_round(name: &str) -> Option<(&str, u32)> {
    let (piece, round) = name.rsplit_once(", round ")?;
    let round = round.parse().ok().filter(|round| *round > 0)?;
    (!piece.is_empty()).then_some((piece, round))
}

impl Plan {
    /// Plans circuits that all name a round: each round's pieces in an order that is drawn with a seed, which the plan
    /// keeps so that an audit can draw it again, and none right after itself. None where one of them names none.
    pub(crate) fn in_drawn_order(circuits: &[Circuit], seed: u32) -> Option<Plan> {
        let mut chance = Chance::new(u64::from(seed));
        let named = circuits.iter().map(|circuit| Some((piece_in_round(&circuit.name)?, &circuit.name)));
        let mut named: Vec<_> = named.collect::<Option<Vec<_>>>()?;
        named.sort_by_key(|((_, round), _)| *round);
        let mut order: Vec<(&str, &String)> = Vec::new();
        for round in named.chunk_by(|((_, one), _), ((_, other), _)| one == other) {
            let mut left: Vec<_> = round.iter().map(|((piece, _), name)| (*piece, *name)).collect();
            while !left.is_empty() {
                let before = order.last().map(|(piece, _)| *piece);
                let others: Vec<usize> = (0..left.len()).filter(|at| Some(left[*at].0) != before).collect();
                let n = if others.is_empty() { left.len() } else { others.len() };
                let drawn = ((chance.share() * n as f64) as usize).min(n - 1);
                order.push(left.remove(others.get(drawn).copied().unwrap_or(drawn)));
            }
        }
        let planned = |(_, name): (&str, &String)| Planned { circuit: name.clone(), because: Vec::new() };
        let circuits: Vec<_> = order.into_iter().map(planned).collect();
        let plan =
            Plan { complaints: Vec::new(), meant: Vec::new(), after: None, seed: Some(seed), circuits };
        (!plan.circuits.is_empty()).then_some(plan)
    }

    /// Returns whether pieces are read in rounds, so that nothing is said of a reading before the end.
    pub(crate) fn is_in_rounds(&self) -> bool {
        self.circuits.iter().all(|planned| piece_in_round(&planned.circuit).is_some())
    }
}
