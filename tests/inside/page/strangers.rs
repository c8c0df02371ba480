use std::io::{Read, Write};
use std::net::{Ipv4Addr, TcpStream};

use super::browser::Shown;
use crate::tests::support::BROWSER_PATIENCE as PATIENCE;

/// What a session has at stake: that nothing of it was shown, and that nothing was typed.
fn is_unmoved(shown: &Shown, question: u64) {
    assert!(!shown.board.has_line());
    assert_eq!(shown.board.now().sight.question, question);
}

#[test]
fn without_a_code_nothing_of_the_session_is_shown_and_nothing_taken() {
    let shown = Shown::open();
    let question = shown.ask("Is Ana's plate seated?");
    let origin = format!("http://{}", shown.host);
    let other_port = shown.cookie.replace('=', "0=");
    for cookie in ["", "a=b", &other_port, &shown.cookie[..shown.cookie.len() - 1]] {
        for (method, path) in [
            ("GET", "/events"),
            ("POST", "/line"),
            ("POST", "/photo/1/a.jpg/"),
            ("GET", "/picture/body.png"),
            ("GET", "/x"),
        ] {
            let typed = format!("{{\"question\":{question},\"text\":\"ok\"}}");
            let headers = [("Origin", origin.as_str()), ("Cookie", cookie)];
            let reply = shown.send(method, path, &headers, &typed);
            assert_eq!(reply.status, 401, "{method} {path}: {reply:?}");
            assert!(!reply.body.contains("Ana"));
        }
    }
    is_unmoved(&shown, question);
    assert_eq!(shown.line(question, "ok").status, 202);
    assert_eq!(shown.board.take().as_deref(), Some("ok"));
}

#[test]
fn a_name_that_somebody_leads_here_is_no_name_of_the_page() {
    let shown = Shown::open();
    let question = shown.ask("Ready?");
    let port = shown.host.rsplit(':').next().unwrap();
    let typed = format!("{{\"question\":{question},\"text\":\"ok\"}}");
    let foreign = [
        format!("shop.example:{port}"),
        format!("localhost.example:{port}"),
        "127.0.0.1".to_owned(),
        "127.0.0.1:1".to_owned(),
        format!("192.0.2.7:{port}"),
        format!("user@127.0.0.1:{port}"),
        String::new(),
    ];
    for host in foreign {
        let headers = format!("Host: {host}\r\nOrigin: http://{host}\r\nCookie: {}\r\n", shown.cookie);
        for asked in ["GET / HTTP/1.1", "GET /events HTTP/1.1", "POST /line HTTP/1.1"] {
            let reply =
                shown.raw(format!("{asked}\r\n{headers}Content-Length: {}\r\n\r\n{typed}", typed.len()));
            assert!([400, 421].contains(&reply.status), "{host}: {reply:?}");
        }
    }
    for hosts in ["", "Host: shop.example\r\nHost: HOST\r\n", "Host: HOST\r\nHost: shop.example\r\n"] {
        let hosts = hosts.replace("HOST", &shown.host);
        let reply = shown.raw(format!("GET / HTTP/1.1\r\n{hosts}\r\n"));
        assert!([400, 421].contains(&reply.status), "{hosts}: {reply:?}");
    }
    let absolute = format!("GET http://shop.example/ HTTP/1.1\r\nHost: {}\r\n\r\n", shown.host);
    assert_eq!(shown.raw(&absolute).status, 421);
    for own in [&shown.host, &format!("localhost:{port}"), &format!("[::1]:{port}")] {
        assert_eq!(shown.raw(format!("GET / HTTP/1.1\r\nHost: {own}\r\n\r\n")).status, 200, "{own}");
    }
    is_unmoved(&shown, question);
}

#[test]
fn on_the_network_the_page_is_found_under_addresses_and_under_no_name() {
    let shown = Shown::open_at(Ipv4Addr::UNSPECIFIED);
    let port = shown.host.rsplit(':').next().unwrap();
    let status = |host: &str| shown.raw(format!("GET / HTTP/1.1\r\nHost: {host}\r\n\r\n")).status;
    for own in ["127.0.0.1", "192.0.2.7", "[2001:db8::7]", "LocalHost"] {
        assert_eq!(status(&format!("{own}:{port}")), 200, "{own}");
        assert_eq!(status(own), 421, "{own} is of port 80");
    }
    for name in ["bench", "bench.local", "192.0.2.7.example", "0x7f.1", "localhost."] {
        assert_eq!(status(&format!("{name}:{port}")), 421, "{name}");
    }
    let typed = shown.ask("Ready?");
    assert_eq!(shown.line(typed, "ok").status, 202);
}

#[test]
fn another_page_answers_nothing_and_tries_no_code() {
    let shown = Shown::open();
    let question = shown.ask("Ready?");
    let typed = format!("{{\"question\":{question},\"text\":\"ok\"}}");
    let code = shown.server.code();
    let port = shown.host.rsplit(':').next().unwrap();
    let other_name = format!("http://localhost:{port}");
    for origin in [
        "http://shop.example",
        "null",
        "",
        "http://127.0.0.1:1",
        &other_name,
        &format!("https://{}", shown.host),
    ] {
        let headers = [("Cookie", shown.cookie.as_str()), ("Origin", origin)];
        assert_eq!(shown.send("POST", "/line", &headers, &typed).status, 403, "{origin}");
        assert_eq!(shown.send("GET", "/events", &headers, "").status, 403, "{origin}");
        assert_eq!(shown.send("POST", "/pair", &headers, &code).status, 403, "{origin}");
    }
    // A form of another page says where it comes from; what does not say it is no page.
    assert_eq!(shown.send("POST", "/line", &[("Cookie", &shown.cookie)], &typed).status, 403);
    is_unmoved(&shown, question);
    assert_eq!(shown.server.code(), code);
}

#[test]
fn wrong_codes_are_counted_and_the_terminal_is_told_of_the_next_one() {
    let shown = Shown::open();
    let told = shown.board.take_notices();
    assert_eq!(told.len(), 1);
    assert!(
        told[0].starts_with("A browser at 127.0.0.1 has the page. For another one: http://127.0.0.1:"),
        "{told:?}"
    );
    assert!(told[0].ends_with(&shown.server.code()));
    let code = shown.server.code();
    for _ in 0..4 {
        assert_eq!(shown.pair("0000-0000").status, 403);
    }
    assert_eq!(shown.pair("0000-0000").status, 429);
    assert_ne!(shown.server.code(), code);
    assert_eq!(shown.pair(&shown.server.code()).status, 429);
    let told = shown.board.take_notices();
    assert_eq!(told.len(), 1);
    assert!(
        told[0].contains("None is taken for 1 min") && told[0].contains(&shown.server.code()),
        "{told:?}"
    );
    // Who was let in before stays.
    assert_eq!(shown.line(shown.ask("Ready?"), "").status, 202);
}

#[test]
fn what_is_too_large_or_no_request_is_refused() {
    let shown = Shown::open();
    let question = shown.ask("Ready?");
    assert_eq!(shown.own("POST", "/line", "x".repeat(200_000)).status, 413);
    let photo = format!("/photo/{question}/a.jpg/");
    assert_eq!(shown.own("POST", &photo, "x".repeat((32 << 20) + 1)).status, 413);
    assert_eq!(shown.pair(&"x".repeat(10_000)).status, 413);
    let endless = format!(
        "POST /line HTTP/1.1\r\nHost: {0}\r\nOrigin: http://{0}\r\nCookie: {1}\r\nContent-Length: 99999999999\r\n\r\n{2}",
        shown.host,
        shown.cookie,
        "x".repeat(200_000)
    );
    assert_eq!(shown.raw(&endless).status, 413);
    let long = format!("GET / HTTP/1.1\r\nHost: {}\r\nX: {}\r\n\r\n", shown.host, "x".repeat(100_000));
    assert_eq!(shown.raw(&long).status, 431);
    let many = format!("GET / HTTP/1.1\r\nHost: {}\r\n{}\r\n", shown.host, "X: y\r\n".repeat(200));
    assert_eq!(shown.raw(&many).status, 431);
    for no_line in ["", "ok", "{}", "{\"question\":1}", "{\"question\":-1,\"text\":\"\"}", "[1,\"\"]x"] {
        assert_eq!(shown.own("POST", "/line", no_line).status, 400, "{no_line}");
    }
    assert_eq!(shown.line(question, "two\nlines").status, 400);
    assert_eq!(shown.line(question, &"x".repeat(17 * 1024)).status, 400);
    assert_eq!(shown.own("DELETE", "/line", "").status, 404);
    assert_eq!(shown.own("GET", "/../Cargo.toml", "").status, 404);
    is_unmoved(&shown, question);
}

#[test]
fn whoever_sends_slowly_is_let_go() {
    let shown = Shown::open();
    let question = shown.ask("Ready?");
    let mut slow: Vec<TcpStream> = (0..3).map(|_| shown.connect()).collect();
    slow[0].write_all(b"GET / HT").unwrap();
    let half = format!(
        "POST /line HTTP/1.1\r\nHost: {0}\r\nOrigin: http://{0}\r\nCookie: {1}\r\nContent-Length: 40\r\n\r\n{{\"question\":",
        shown.host, shown.cookie
    );
    slow[1].write_all(half.as_bytes()).unwrap();
    for stream in &mut slow {
        stream.set_read_timeout(Some(PATIENCE)).unwrap();
        // It is closed, with or without a word why.
        let mut rest = Vec::new();
        let ended = stream.read_to_end(&mut rest);
        assert!(
            ended.is_ok() || ended.is_err_and(|error| error.kind() == std::io::ErrorKind::ConnectionReset)
        );
    }
    is_unmoved(&shown, question);
    assert_eq!(shown.line(question, "ok").status, 202);
}

#[test]
fn five_hundred_at_once_are_bounded_and_gone_again() {
    let shown = Shown::open();
    let question = shown.ask("Ready?");
    let mut listening = shown.listen();
    listening.until(|sight| sight["question"] == question);
    let many: Vec<TcpStream> = (0..500).map(|_| shown.connect()).collect();
    // Whoever listens already goes on.
    let question = {
        shown.board.settled();
        shown.ask("And now?")
    };
    listening.until(|sight| sight["question"] == question);
    let refused = many.iter().filter(|stream| {
        stream.set_nonblocking(true).unwrap();
        matches!((&mut &**stream).read(&mut [0]), Ok(0))
            || (&mut &**stream)
                .read(&mut [0])
                .is_err_and(|error| error.kind() == std::io::ErrorKind::ConnectionReset)
    });
    assert!(refused.count() >= 400);
    is_unmoved(&shown, question);
    drop(many);
    let begun = std::time::Instant::now();
    while shown.line(question, "ok").status != 202 {
        assert!(begun.elapsed() < PATIENCE);
        std::thread::sleep(std::time::Duration::from_millis(20));
    }
}

#[test]
fn every_answer_forbids_what_the_page_does_not_need() {
    let shown = Shown::open();
    for (method, path) in
        [("GET", "/"), ("GET", "/page.js"), ("GET", "/events?x"), ("POST", "/line"), ("GET", "/none")]
    {
        let reply = shown.send(method, path, &[("Origin", &format!("http://{}", shown.host))], "");
        let policy =
            reply.head.lines().find_map(|line| line.strip_prefix("content-security-policy: ")).unwrap();
        assert!(policy.starts_with("default-src 'none'; script-src 'self';"), "{policy}");
        assert!(!policy.contains("unsafe") && policy.contains("frame-ancestors 'none'"));
        for header in
            ["cache-control: no-store", "x-content-type-options: nosniff", "referrer-policy: no-referrer"]
        {
            assert!(reply.head.contains(header), "{path}: {}", reply.head);
        }
    }
    let page = shown.send("GET", "/", &[], "").body;
    assert!(page.starts_with("<!doctype html>"));
    // Neither script nor style stands in the page, and nothing is fetched from elsewhere.
    for none in ["<style", "style=", "onclick=", "http://", "https://", "//"] {
        assert!(!page.contains(none), "{none}");
    }
}
