//! Which browsers may see and answer a session: a code that the terminal shows, and the cookie that it is changed for.

use std::time::{Duration, Instant};

use data_encoding::HEXLOWER;
use subtle::{Choice, ConstantTimeEq};

/// How many wrong codes are answered before the code is another.
const TRIES: u32 = 5;

/// How long no code is taken after that, the first time; each time thereafter twice as long, up to the longest.
const SHUT: Duration = Duration::from_secs(60);
const LONGEST_SHUT: Duration = Duration::from_secs(60 * 60);

/// How many browsers have the page at most; one more and the one that came first has it no longer.
const MOST_BROWSERS: usize = 16;

/// The digits and letters of a code: those of Crockford's Base 32 (from memory), in which no two look alike. There are
/// 32 of them, so five random bits choose each evenly.
const SYMBOLS: &[u8; 32] = b"0123456789ABCDEFGHJKMNPQRSTVWXYZ";
const CODE_LENGTH: usize = 8;

/// The code of now, and who has been let in.
pub(crate) struct PagePairing {
    code: String,
    n_wrong: u32,
    n_shut: u32,
    shut_until: Option<Instant>,
    cookies: Vec<String>,
}

/// What came of a code that a browser sent.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum CodeTried {
    /// It was the code, which is another now; the browser shows this cookie from here on.
    Paired(String),
    /// It was wrong.
    Wrong,
    /// It was wrong once too often: the code is another now, and none is taken for this long.
    Renewed(Duration),
    /// No code is taken now, right or wrong, for this long still.
    Shut(Duration),
}

/// The machine gave no random numbers.
#[derive(Debug, thiserror::Error)]
#[error("this machine gives no random numbers for the page's code: {0}")]
pub(crate) struct NoChance(#[from] getrandom::Error);

impl PagePairing {
    pub(crate) fn new() -> Result<PagePairing, NoChance> {
        Ok(PagePairing { code: drawn_code()?, n_wrong: 0, n_shut: 0, shut_until: None, cookies: Vec::new() })
    }

    /// Returns the code of now, as `K7QM-2XWD`: 40 random bits.
    pub(crate) fn code(&self) -> String {
        let (first, second) = self.code.split_at(CODE_LENGTH / 2);
        format!("{first}-{second}")
    }

    /// Tries a code as typed or as an address carried it. A code lets one browser in.
    pub(crate) fn try_code(&mut self, typed: &str, now: Instant) -> Result<CodeTried, NoChance> {
        if let Some(until) = self.shut_until.filter(|until| *until > now) {
            return Ok(CodeTried::Shut(until - now));
        }
        if bool::from(symbols_of(typed).as_bytes().ct_eq(self.code.as_bytes())) {
            let cookie = HEXLOWER.encode(&drawn::<32>()?);
            self.renew()?;
            self.n_shut = 0;
            if self.cookies.len() == MOST_BROWSERS {
                self.cookies.remove(0);
            }
            self.cookies.push(cookie.clone());
            return Ok(CodeTried::Paired(cookie));
        }
        self.n_wrong += 1;
        if self.n_wrong < TRIES {
            return Ok(CodeTried::Wrong);
        }
        self.renew()?;
        let shut = SHUT.saturating_mul(1 << self.n_shut.min(6)).min(LONGEST_SHUT);
        self.n_shut += 1;
        self.shut_until = Some(now + shut);
        Ok(CodeTried::Renewed(shut))
    }

    /// Returns whether a cookie is that of a browser which was let in.
    pub(crate) fn knows(&self, cookie: &str) -> bool {
        let known = self.cookies.iter().map(|known| known.as_bytes().ct_eq(cookie.as_bytes()));
        known.fold(Choice::from(0), |any, one| any | one).into()
    }

    fn renew(&mut self) -> Result<(), NoChance> {
        self.code = drawn_code()?;
        self.n_wrong = 0;
        Ok(())
    }
}

fn drawn<const N: usize>() -> Result<[u8; N], NoChance> {
    let mut bytes = [0; N];
    getrandom::fill(&mut bytes)?;
    Ok(bytes)
}

fn drawn_code() -> Result<String, NoChance> {
    let symbol = |byte: &u8| char::from(SYMBOLS[usize::from(byte % 32)]);
    Ok(drawn::<CODE_LENGTH>()?.iter().map(symbol).collect())
}

/// Reads a code as typed: small letters, spaces and dashes are understood, and so is a letter that looks like a digit.
fn symbols_of(typed: &str) -> String {
    let letters = typed.chars().filter(|letter| !letter.is_whitespace() && *letter != '-');
    let symbol = |letter: char| match letter.to_ascii_uppercase() {
        'O' => '0',
        'I' | 'L' => '1',
        letter => letter,
    };
    letters.map(symbol).collect()
}
