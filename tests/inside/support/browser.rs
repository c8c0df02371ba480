//! A browser as far as the page's server can tell: requests of plain text over connections of its own.

use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::time::Duration;

use serde_json::Value;

/// Longer than the server takes for anything.
pub(crate) const BROWSER_PATIENCE: Duration = Duration::from_secs(30);

/// A browser that was let in.
pub(crate) struct Browser {
    pub(crate) host: String,
    pub(crate) cookie: String,
}

/// What came back.
#[derive(Debug)]
pub(crate) struct Reply {
    pub(crate) status: u16,
    pub(crate) head: String,
    pub(crate) body: String,
}

impl Browser {
    /// Opens an address with the code in it.
    pub(crate) fn at(address: &str) -> Browser {
        let (host, code) = address.strip_prefix("http://").unwrap().split_once("/#").unwrap();
        let mut browser = Browser { host: host.to_owned(), cookie: String::new() };
        let paired = browser.pair(code);
        assert_eq!(paired.status, 200, "{paired:?}");
        let set = paired.head.lines().find_map(|line| line.strip_prefix("set-cookie: ")).unwrap();
        assert!(set.ends_with("; Path=/; HttpOnly; SameSite=Strict"), "{set}");
        set.split(';').next().unwrap().clone_into(&mut browser.cookie);
        browser
    }

    /// Returns what is shown now.
    pub(crate) fn sight(&self) -> Value {
        self.listen().next().expect("a sight")["sight"].take()
    }

    /// Waits until something is asked in these words; returns the number under which it is.
    #[track_caller]
    pub(crate) fn asked(&self, words: &str) -> u64 {
        let mut heard = self.listen();
        loop {
            let sight = heard.next().unwrap_or_else(|| panic!("{words:?} is not asked"))["sight"].take();
            let asked = sight["ask"]["words"].as_str().unwrap_or_default();
            match sight["question"].as_u64() {
                Some(question @ 1..) if asked.contains(words) => return question,
                _ => {}
            }
        }
    }

    /// Types a line for what is asked in these words, when it is; returns how that was answered.
    #[track_caller]
    pub(crate) fn types(&self, words: &str, text: &str) -> u16 {
        self.line(self.asked(words), text).status
    }

    pub(crate) fn pair(&self, code: &str) -> Reply {
        self.send("POST", "/pair", &[("Origin", &format!("http://{}", self.host))], code)
    }

    /// Sends a line as the page does.
    pub(crate) fn line(&self, question: u64, text: &str) -> Reply {
        let typed = serde_json::json!({ "question": question, "text": text }).to_string();
        self.own("POST", "/line", &typed)
    }

    /// Sends a request as the page does: with its origin and its cookie.
    pub(crate) fn own(&self, method: &str, path: &str, body: impl AsRef<[u8]>) -> Reply {
        let origin = format!("http://{}", self.host);
        self.send(method, path, &[("Origin", &origin), ("Cookie", &self.cookie)], body)
    }

    pub(crate) fn send(
        &self,
        method: &str,
        path: &str,
        headers: &[(&str, &str)],
        body: impl AsRef<[u8]>,
    ) -> Reply {
        let (host, body) = ([("Host", self.host.as_str())], body.as_ref());
        let headers: String =
            host.iter().chain(headers).map(|(name, value)| format!("{name}: {value}\r\n")).collect();
        let head = format!("{method} {path} HTTP/1.1\r\n{headers}Content-Length: {}\r\n\r\n", body.len());
        self.raw([head.as_bytes(), body].concat())
    }

    /// Sends bytes as they are, and reads until the server closes.
    pub(crate) fn raw(&self, bytes: impl AsRef<[u8]>) -> Reply {
        let mut stream = self.connect();
        stream.write_all(bytes.as_ref()).unwrap();
        Reply::of(stream)
    }

    /// Begins to send a photo of so many bytes to an address.
    pub(crate) fn begins_photo(&self, path: &str, length: usize) -> TcpStream {
        let Browser { host, cookie } = self;
        let mut stream = self.connect();
        let head = format!(
            "POST {path} HTTP/1.1\r\nHost: {host}\r\nOrigin: http://{host}\r\nCookie: {cookie}\r\nContent-Length: {length}\r\n\r\n"
        );
        stream.write_all(head.as_bytes()).unwrap();
        stream
    }

    pub(crate) fn connect(&self) -> TcpStream {
        let stream = TcpStream::connect(&self.host).unwrap();
        stream.set_read_timeout(Some(BROWSER_PATIENCE)).unwrap();
        stream
    }

    /// Listens as the page does.
    pub(crate) fn listen(&self) -> Listening {
        let mut stream = self.connect();
        let head = format!("GET /events HTTP/1.1\r\nHost: {}\r\nCookie: {}\r\n\r\n", self.host, self.cookie);
        stream.write_all(head.as_bytes()).unwrap();
        Listening(BufReader::new(stream))
    }
}

impl Reply {
    /// Reads what comes back until the server closes.
    pub(crate) fn of(mut stream: TcpStream) -> Reply {
        let mut answered = Vec::new();
        // A server that is through with a request may close before it has read the rest.
        let _ = stream.read_to_end(&mut answered);
        let answered = String::from_utf8_lossy(&answered).into_owned();
        let (head, body) = answered.split_once("\r\n\r\n").unwrap_or((&answered, ""));
        let status = head.split(' ').nth(1).and_then(|status| status.parse().ok()).unwrap_or_default();
        Reply { status, head: head.replace("\r\n", "\n"), body: body.to_owned() }
    }
}

/// The lines that a browser hears. What a board shows reaches it a moment later.
pub(crate) struct Listening(BufReader<TcpStream>);

impl Listening {
    /// Returns what comes next but for the lines that say nothing; none at the end.
    pub(crate) fn next(&mut self) -> Option<Value> {
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

    /// Returns the first sight that is such a one.
    pub(crate) fn until(&mut self, is_it: impl Fn(&Value) -> bool) -> Value {
        loop {
            let heard = self.next().unwrap();
            if is_it(&heard["sight"]) {
                return heard["sight"].clone();
            }
        }
    }
}
