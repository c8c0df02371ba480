//! What a browser is sent while a session goes on: a line of JSON for each change, and one now and then in between, by
//! which it knows that the program is there.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

use bytes::Bytes;
use http_body_util::channel::{Channel, Sender};
use serde::Serialize;
use tokio::sync::watch;
use tokio::time::timeout;

use super::{Board, Sight};

/// How often a browser is sent something at least.
const BEAT: Duration = Duration::from_secs(2);

/// How soon the end of a session is noticed where nothing changes any more.
const LOOKS_FOR_END: Duration = Duration::from_millis(100);

/// Lines that a browser may be behind; what is newer than that it gets in one.
const LINES_BEHIND: usize = 2;

#[derive(Serialize)]
#[serde(rename_all = "snake_case")]
enum NewsLine<'a> {
    /// Everything.
    Sight(&'a Sight),
    /// The needle has moved, and nothing else has changed.
    Needle { at: Option<f64>, is_moving: bool },
    /// Nothing has changed.
    Beat,
}

impl NewsLine<'_> {
    fn line(&self) -> Bytes {
        // Neither numbers that JSON does not have nor keys that are no text are in it, so this does not fail.
        let mut line = serde_json::to_vec(self).unwrap_or_default();
        line.push(b'\n');
        line.into()
    }
}

/// The newest lines.
#[derive(Clone)]
pub(super) struct News {
    version: u64,
    /// The sight but for the needle.
    still: Arc<Sight>,
    /// Counts its changes.
    n_still: u64,
    pub(super) sight: Bytes,
    needle: Bytes,
}

impl News {
    pub(super) fn of(board: &Board) -> News {
        let now = board.now();
        let (sight, needle) = lines(&now.sight);
        News { version: now.version, still: Arc::new(still(now.sight)), n_still: 0, sight, needle }
    }
}

fn lines(sight: &Sight) -> (Bytes, Bytes) {
    let needle = match &sight.dial {
        Some(dial) => NewsLine::Needle { at: dial.needle, is_moving: dial.is_moving },
        None => NewsLine::Beat,
    };
    (NewsLine::Sight(sight).line(), needle.line())
}

fn still(mut sight: Sight) -> Sight {
    if let Some(dial) = &mut sight.dial {
        (dial.needle, dial.is_moving) = (None, false);
    }
    sight
}

/// Tells what changes on a board until it is over, and what has changed last by then.
pub(super) fn watch(board: &Board, tell: &watch::Sender<News>, is_over: &AtomicBool) {
    let mut version = tell.borrow().version;
    loop {
        let was_over = is_over.load(Ordering::Relaxed);
        let changed = board.changed(version, LOOKS_FOR_END);
        if let Some(change) = changed {
            version = change.version;
            let (sight, needle) = lines(&change.sight);
            let now = still(change.sight);
            tell.send_modify(|news| {
                if *news.still != now {
                    (news.still, news.n_still) = (Arc::new(now), news.n_still + 1);
                }
                (news.version, news.sight, news.needle) = (version, sight, needle);
            });
        } else if was_over {
            return;
        }
    }
}

/// Returns what a browser is sent from now on: first what is shown now, then each change until it is over.
pub(super) fn stream(news: watch::Receiver<News>) -> Channel<Bytes> {
    let (to, body) = Channel::new(LINES_BEHIND);
    // It ends with the news, or with the browser.
    tokio::task::spawn_local(send(news, to));
    body
}

async fn send(mut news: watch::Receiver<News>, mut to: Sender<Bytes>) {
    let mut shown = None;
    loop {
        let line = {
            let now = news.borrow_and_update();
            let is_new = shown.replace(now.n_still) != Some(now.n_still);
            if is_new { now.sight.clone() } else { now.needle.clone() }
        };
        if to.send_data(line).await.is_err() {
            return;
        }
        loop {
            match timeout(BEAT, news.changed()).await {
                Ok(Ok(())) => break,
                Ok(Err(_)) => return,
                Err(_) => {
                    if to.send_data(NewsLine::Beat.line()).await.is_err() {
                        return;
                    }
                }
            }
        }
    }
}
