//! A served board, and a browser that was let in.

use std::net::Ipv4Addr;
use std::ops::Deref;
use std::sync::Arc;

use crate::page::{Ask, Board, Server};
use crate::tests::support::Browser;

/// A served board at which something is asked, and a browser that was let in.
pub(super) struct Shown {
    pub(super) board: Arc<Board>,
    pub(super) server: Server,
    browser: Browser,
}

impl Shown {
    pub(super) fn open() -> Shown {
        Shown::open_at(Ipv4Addr::LOCALHOST)
    }

    pub(super) fn open_at(ip: Ipv4Addr) -> Shown {
        let board = Arc::new(Board::default());
        let server = Server::open(board.clone(), (ip, 0).into()).unwrap();
        // The loopback's comes last.
        let address = server.addresses().pop().unwrap();
        assert!(address.ends_with(&format!("/#{}", server.code())));
        Shown { board, server, browser: Browser::at(&address) }
    }

    /// Asks something at the board, as a session does.
    pub(super) fn ask(&self, words: &str) -> u64 {
        self.board.show(|sight| sight.ask = Some(Ask { words: words.to_owned(), ..Ask::default() }));
        self.board.ask();
        self.board.now().sight.question
    }
}

impl Deref for Shown {
    type Target = Browser;

    fn deref(&self) -> &Browser {
        &self.browser
    }
}
