//! A browser as far as the server can tell: requests of plain text over a connection of its own.

use std::io::{BufRead, BufReader, Read, Write};
use std::net::{Ipv4Addr, SocketAddr, TcpStream};
use std::sync::Arc;
use std::time::Duration;

use serde_json::Value;

use crate::page::{Ask, Board, Server};

pub(super) const PATIENCE: Duration = Duration::from_secs(30);

/// A served board at which something is asked, and a browser that was let in.
pub(super) struct Shown {
    pub(super) board: Arc<Board>,
    pub(super) server: Server,
    pub(super) host: String,
    pub(super) cookie: String,
}

/// What came back.
#[derive(Debug)]
pub(super) struct Reply {
    pub(super) status: u16,
    pub(super) head: String,
    pub(super) body: String,
}

impl Shown {
    pub(super) fn open() -> Shown {
        let board = Arc::new(Board::default());
        let server = Server::open(board.clone(), SocketAddr::from((Ipv4Addr::LOCALHOST, 0))).unwrap();
        let address = server.addresses().remove(0);
        let (host, code) = address.strip_prefix("http://").unwrap().split_once("/#").unwrap();
        assert_eq!(code, server.code());
        let (host, code) = (host.to_owned(), code.to_owned());
        let mut shown = Shown { board, server, host, cookie: String::new() };
        let paired = shown.pair(&code);
        assert_eq!(paired.status, 200, "{paired:?}");
        let set = paired.head.lines().find_map(|line| line.strip_prefix("set-cookie: ")).unwrap();
        assert!(set.ends_with("; Path=/; HttpOnly; SameSite=Strict"), "{set}");
        set.split(';').next().unwrap().clone_into(&mut shown.cookie);
        shown
    }

    /// Asks something at the board, as a session does.
    pub(super) fn ask(&self, words: &str) -> u64 {
        self.board.show(|sight| sight.ask = Some(Ask { words: words.to_owned(), ..Ask::default() }));
        self.board.ask();
        self.board.now().sight.question
    }

    pub(super) fn pair(&self, code: &str) -> Reply {
        self.send("POST", "/pair", &[("Origin", &format!("http://{}", self.host))], code)
    }

    /// Sends a line as the page does.
    pub(super) fn line(&self, question: u64, text: &str) -> Reply {
        let typed = serde_json::json!({ "question": question, "text": text }).to_string();
        self.own("POST", "/line", &typed)
    }

    /// Sends a request as the page does: with its origin and its cookie.
    pub(super) fn own(&self, method: &str, path: &str, body: &str) -> Reply {
        let origin = format!("http://{}", self.host);
        self.send(method, path, &[("Origin", &origin), ("Cookie", &self.cookie)], body)
    }

    pub(super) fn send(&self, method: &str, path: &str, headers: &[(&str, &str)], body: &str) -> Reply {
        let host = [("Host", self.host.as_str())];
        let headers: String =
            host.iter().chain(headers).map(|(name, value)| format!("{name}: {value}\r\n")).collect();
        self.raw(&format!(
            "{method} {path} HTTP/1.1\r\n{headers}Content-Length: {}\r\n\r\n{body}",
            body.len()
        ))
    }

    /// Sends a text as it is, and reads until the server closes.
    pub(super) fn raw(&self, text: &str) -> Reply {
        let mut stream = self.connect();
        stream.write_all(text.as_bytes()).unwrap();
        let mut answered = Vec::new();
        // A server that is through with a request may close before it has read the rest.
        let _ = stream.read_to_end(&mut answered);
        let answered = String::from_utf8_lossy(&answered).into_owned();
        let (head, body) = answered.split_once("\r\n\r\n").unwrap_or((&answered, ""));
        let status = head.split(' ').nth(1).and_then(|status| status.parse().ok()).unwrap_or_default();
        Reply { status, head: head.replace("\r\n", "\n"), body: body.to_owned() }
    }

    pub(super) fn connect(&self) -> TcpStream {
        let stream = TcpStream::connect(&self.host).unwrap();
        stream.set_read_timeout(Some(PATIENCE)).unwrap();
        stream
    }

    /// Listens as the page does.
    pub(super) fn listen(&self) -> Listening {
        let mut stream = self.connect();
        let head = format!("GET /events HTTP/1.1\r\nHost: {}\r\nCookie: {}\r\n\r\n", self.host, self.cookie);
        stream.write_all(head.as_bytes()).unwrap();
        Listening(BufReader::new(stream))
    }
}

/// The lines that a browser hears.
pub(super) struct Listening(BufReader<TcpStream>);

impl Listening {
    /// Returns what comes next but for the lines that say nothing; none at the end.
    pub(super) fn next(&mut self) -> Option<Value> {
        loop {
            let mut line = String::new();
            if self.0.read_line(&mut line).unwrap() == 0 {
                return None;
            }
            // Heads and the sizes of pieces stand between them.
            if line.starts_with('{') {
                return Some(serde_json::from_str(&line).unwrap());
            }
        }
    }
}
