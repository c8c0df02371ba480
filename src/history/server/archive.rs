use std::collections::{BTreeMap, HashSet};

use postgres::Client;

use super::connection::may_ask;
use super::{Address, ServerError};
use crate::disk::{self, LARGEST_DOCUMENT};
use crate::history::index::wanted;
use crate::record::{Mode, Shop, across, digest_of_text, sha256};

/// How many texts are fetched at a time.
const BATCH: i64 = 64;

/// What came of sending a shop's records.
#[derive(Debug, Default, PartialEq, Eq)]
pub(crate) struct Sending {
    /// Records that the server had not.
    pub(crate) n_sent: usize,
    /// How many had arrived before.
    pub(crate) n_there: usize,
    /// Of how many of these the server lacked the signature, and was sent the signed text too.
    pub(crate) n_signed: usize,
    /// Photos that records which were not there name; they are not sent.
    pub(crate) n_photos: usize,
    /// Files that were not sent, with what is wrong.
    pub(crate) left_out: Vec<(String, String)>,
}

/// What a server has of a ledger, held against the one that is here.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum LedgerSent {
    /// All its lines are there now.
    Whole,
    /// The server has a line, of this number from 1, that is another one here or is here no longer.
    Differs(usize),
}

/// A record that was sent to a server.
pub(crate) struct SentRecord<'a> {
    pub(crate) number: i64,
    /// What its sender calls it.
    pub(crate) session: &'a str,
    pub(crate) text: &'a [u8],
}

/// The records of a mode and their ledgers that were sent to a server, each text as it was sent.
pub(crate) struct Archive {
    client: Client,
    mode: Mode,
}

impl Archive {
    pub(crate) fn open(address: &Address, mode: Mode) -> Result<Archive, ServerError> {
        Ok(Archive { client: address.connect()?, mode })
    }

    /// Hands over what a shop's records have and the server lacks, each text by itself: what has arrived stays,
    /// wherever the rest is broken off. `fit` says of a text why it is not to be handed over; `step` is told how many
    /// are to be sent, once for each that was.
    pub(crate) fn send_records(
        &mut self,
        shop: &Shop,
        mut fit: impl FnMut(&[u8]) -> Result<(), String>,
        step: &dyn Fn(usize),
    ) -> Result<Sending, ServerError> {
        let folder = |error| ServerError::File(shop.records(), error);
        let names = shop.record_names().map_err(folder)?;
        let read = |name: &String| disk::read(&shop.record(name), LARGEST_DOCUMENT);
        let digests =
            across(&names, || (), |(), name| read(name).map(|text| (sha256(&text), digest_of_text(&text))));
        let mut sending = Sending::default();
        let mut found = Vec::new();
        for (name, digest) in names.into_iter().zip(digests) {
            match digest {
                Ok((text, content)) => found.push((name, text, content)),
                Err(error) => sending.left_out.push((name, error.to_string())),
            }
        }
        let digests = found.iter().flat_map(|(_, text, content)| [text.as_str(), content]);
        let arrived = self.arrived(&digests.collect::<Vec<_>>())?;
        sending.n_there = found.len();
        found.retain(|(_, text, _)| !arrived.contains(text));
        sending.n_there -= found.len();
        for (name, _, content) in &found {
            let is_there = arrived.contains(content);
            let text = read(name).map_err(|error| error.to_string());
            let fitting = text.and_then(|text| {
                // A copy from before the signature adds nothing to what is there.
                let is_known = wanted(&text, self.mode)?.signature.is_none() && is_there;
                if !is_known {
                    fit(&text)?;
                }
                Ok(Some(text).filter(|_| !is_known))
            });
            match fitting {
                Ok(text) => {
                    if let Some(text) = &text {
                        self.send(name, text)?;
                    }
                    sending.n_there += usize::from(is_there);
                    sending.n_signed += usize::from(is_there && text.is_some());
                    sending.n_sent += usize::from(!is_there);
                }
                Err(why) => sending.left_out.push((name.clone(), why)),
            }
            step(found.len());
        }
        Ok(sending)
    }

    /// Returns which of these digests, of whole texts ([`sha256`]) or of what they say ([`digest_of_text`]), have
    /// arrived, whoever sent them.
    fn arrived(&mut self, digests: &[&str]) -> Result<HashSet<String>, ServerError> {
        let arrived = self.client.query("SELECT arrived($1)", &[&digests])?;
        Ok(arrived.iter().map(|row| row.get(0)).collect())
    }

    /// Hands over the text of a session's record. One that is there stays the only one, however often it is sent.
    fn send(&mut self, session: &str, text: &[u8]) -> Result<(), ServerError> {
        let sql = "INSERT INTO document (digest, session, mode, text) VALUES ($1, $2, $3, $4) ON CONFLICT DO NOTHING";
        self.client.execute(sql, &[&sha256(text), &session, &self.mode.word(), &text])?;
        Ok(())
    }

    /// Hands over the lines of a ledger that this login has not sent yet. What was sent once stays:
    /// a ledger only grows.
    pub(crate) fn send_ledger(&mut self, bytes: &[u8]) -> Result<LedgerSent, ServerError> {
        let lines: Vec<&[u8]> = bytes.split(|byte| *byte == b'\n').filter(|line| !line.is_empty()).collect();
        let Some(ledger) = lines.first().map(|line| sha256(line)) else { return Ok(LedgerSent::Whole) };
        let mode = self.mode.word();
        let sql = "SELECT n, text FROM ledger_line WHERE sender = session_user AND mode = $1 AND ledger = $2
                   ORDER BY n DESC LIMIT 1";
        let last = self.client.query_opt(sql, &[&mode, &ledger])?;
        let n_there = last.as_ref().map_or(0, |row| row.get::<_, i64>(0).unsigned_abs() as usize);
        // Each line holds the digest of the one before, so the last tells of all.
        if last.is_some_and(|row| lines.get(n_there - 1) != Some(&row.get(1))) {
            return Ok(LedgerSent::Differs(n_there));
        }
        let sql =
            "INSERT INTO ledger_line (mode, ledger, n, text) VALUES ($1, $2, $3, $4) ON CONFLICT DO NOTHING";
        let mut transaction = self.client.transaction()?;
        for (n, line) in (1_i64..).zip(&lines).skip(n_there) {
            transaction.execute(sql, &[&mode, &ledger, &n, line])?;
        }
        transaction.commit()?;
        Ok(LedgerSent::Whole)
    }

    /// Fetches the ledgers that this login may see, each as its sender had it.
    pub(crate) fn ledgers(&mut self) -> Result<Vec<Vec<u8>>, ServerError> {
        let sql = "SELECT sender, ledger, text FROM ledger_line WHERE mode = $1 ORDER BY n";
        let mut ledgers: BTreeMap<(String, String), Vec<u8>> = BTreeMap::new();
        for row in self.client.query(sql, &[&self.mode.word()])? {
            let ledger = ledgers.entry((row.get(0), row.get(1))).or_default();
            ledger.extend_from_slice(row.get(2));
            ledger.push(b'\n');
        }
        Ok(ledgers.into_values().collect())
    }

    /// Fetches every record that this login may see, in the order in which they arrived.
    pub(crate) fn fetch<E: From<ServerError>>(
        &mut self,
        mut take: impl FnMut(SentRecord<'_>) -> Result<(), E>,
    ) -> Result<(), E> {
        let sql = "SELECT number, session, text FROM document WHERE number > $1 AND mode = $2 ORDER BY number LIMIT $3";
        let mut last = 0_i64;
        loop {
            let rows =
                self.client.query(sql, &[&last, &self.mode.word(), &BATCH]).map_err(ServerError::from)?;
            for row in &rows {
                take(SentRecord { number: row.get(0), session: row.get(1), text: row.get(2) })?;
            }
            let Some(row) = rows.last() else { return Ok(()) };
            last = row.get(0);
        }
    }

    /// Returns how many records this login may see: one that came again with its signature is one.
    pub(crate) fn n_seen(&mut self) -> Result<i64, ServerError> {
        let sql = "SELECT COUNT(DISTINCT content) FROM document WHERE mode = $1";
        Ok(self.client.query_one(sql, &[&self.mode.word()])?.get(0))
    }

    pub(crate) fn may_ask(&mut self) -> Result<bool, ServerError> {
        may_ask(&mut self.client, self.mode)
    }
}
