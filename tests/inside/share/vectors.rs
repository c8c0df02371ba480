//! Digests, signatures and the canonical form against their standards.

use curve25519_dalek::constants::EIGHT_TORSION;
use curve25519_dalek::edwards::EdwardsPoint;
use curve25519_dalek::scalar::{Scalar, clamp_integer};
use serde_json::Value;
use sha2::{Digest, Sha512};

use crate::procedure::Source;
use crate::record::{PublicKey, Signatures};
use crate::share::{OwnKey, signed_bytes};
use crate::tests::support::{Table, signer};

fn bytes(hex: &str) -> Vec<u8> {
    (0..hex.len()).step_by(2).map(|at| u8::from_str_radix(&hex[at..at + 2], 16).unwrap()).collect()
}

/// The rows of RFC 8032, section 7.1: name, secret key, public key, message, signature.
fn ed25519() -> Vec<[String; 5]> {
    let table = Table::read("11c_ed25519_vectors.csv");
    let rows = table.rows();
    let columns = ["name", "secret", "public", "message", "signature"];
    rows.map(|row| columns.map(|column| row.text(column).to_owned())).collect()
}

#[test]
fn signatures_are_those_of_rfc_8032() {
    let vectors = ed25519();
    assert_eq!(vectors.len(), 5);
    for [name, secret, public, message, signature] in &vectors {
        let own = OwnKey::from_secret(name, bytes(secret).try_into().unwrap()).unwrap();
        let public_key = own.signer().public_key;
        assert_eq!(String::from(public_key), *public, "{name}");
        assert_eq!(own.sign(&bytes(message)), *signature, "{name}");
        assert!(public_key.verifies(&bytes(message), signature), "{name}");
        assert!(!public_key.verifies(&[bytes(message), vec![0]].concat(), signature), "{name}");
    }
}

#[test]
fn signatures_that_are_verified_together_fit_where_each_does_and_not_where_one_does_not() {
    let vectors = ed25519();
    let fit = |spoiled: Option<usize>| {
        let mut signatures = Signatures::default();
        for (at, [_, _, public, message, signature]) in vectors.iter().enumerate() {
            let verifier = PublicKey::try_from(public.clone()).unwrap().verifier().unwrap();
            let more = if spoiled == Some(at) { vec![0] } else { Vec::new() };
            assert!(signatures.add(&verifier, &[bytes(message), more].concat(), signature));
        }
        signatures.all_fit()
    };
    assert!(fit(None) && Signatures::default().all_fit());
    assert!((0..vectors.len()).all(|at| !fit(Some(at))));
}

/// RFC 8032, section 5.1.7, has a factor of eight on both sides, so that whoever has the key can write a signature in eight ways.
/// Where it is left out, a batch can take what a single verification refuses (ZIP 215).
#[test]
fn what_fits_among_other_signatures_fits_alone() {
    let [_, secret, public, message, signature] = ed25519().swap_remove(1);
    let verifier = PublicKey::try_from(public.clone()).unwrap().verifier().unwrap();
    let sha512 = |parts: &[&[u8]]| <[u8; 64]>::from(Sha512::digest(parts.concat()));
    let own = Scalar::from_bytes_mod_order(clamp_integer(*sha512(&[&bytes(&secret)]).first_chunk().unwrap()));
    for nonce in [3_u64, 17, 1_000_003] {
        for torsion in EIGHT_TORSION {
            let first = (EdwardsPoint::mul_base(&Scalar::from(nonce)) + torsion).compress().to_bytes();
            let hash = sha512(&[&first, &bytes(&public), &bytes(&message)]);
            let second = Scalar::from(nonce) + Scalar::from_bytes_mod_order_wide(&hash) * own;
            let written: String =
                [first, second.to_bytes()].concat().iter().map(|byte| format!("{byte:02x}")).collect();
            assert!(verifier.verifies(&bytes(&message), &written));
            let mut signatures = Signatures::default();
            for signature in [&signature, &written, &signature] {
                assert!(signatures.add(&verifier, &bytes(&message), signature));
            }
            assert!(signatures.all_fit());
        }
    }
}

/// RFC 8032, section 5.1: the order of the group, in the byte order of signatures.
const ORDER: &str = "edd3f55c1a631258d69cf7a2def9de1400000000000000000000000000000010";

#[test]
fn a_signature_has_one_spelling_only() {
    let [_, _, public, message, signature] = ed25519().swap_remove(1);
    let key = PublicKey::try_from(public).unwrap();
    // RFC 8032, section 8.4: the same scalar plus the order of the group would verify where its range is not checked.
    let (mut scalar, mut carry) = (bytes(&signature[64..]), 0_u16);
    for (byte, order) in scalar.iter_mut().zip(bytes(ORDER)) {
        carry += u16::from(*byte) + u16::from(order);
        (*byte, carry) = (carry as u8, carry >> 8);
    }
    let other: String = scalar.iter().map(|byte| format!("{byte:02x}")).collect();
    assert!(!key.verifies(&bytes(&message), &format!("{}{other}", &signature[..64])));
    assert!(!key.verifies(&bytes(&message), &signature.to_uppercase()));
    for wrong in ["", "00", &signature[..126], &format!("{signature}00"), &signature.replace('9', "g")] {
        assert!(!key.verifies(&bytes(&message), wrong), "{wrong}");
    }
}

#[test]
fn a_key_that_fits_signatures_of_every_message_is_refused() {
    // The neutral point as key and as first half, nothing as second: the plain equation of RFC 8032 holds for every
    // message; so it does for the other points of small order.
    for point in [
        "0100000000000000000000000000000000000000000000000000000000000000",
        "ecffffffffffffffffffffffffffffffffffffffffffffffffffffffffffff7f",
        "0000000000000000000000000000000000000000000000000000000000000000",
        "c7176a703d4dd84fba3c0b760d10670f2a2053fa2c39ccc64ec7fd7792ac037a",
    ] {
        let key = PublicKey::try_from(point.to_owned()).unwrap();
        let neutral = "0100000000000000000000000000000000000000000000000000000000000000";
        for message in [&b"anything"[..], b"else"] {
            assert!(!key.verifies(message, &format!("{neutral}{}", "0".repeat(64))), "{point}");
            assert!(!key.verifies(message, &format!("{point}{}", "0".repeat(64))), "{point}");
        }
    }
}

#[test]
fn the_canonical_form_is_that_of_rfc_8785() {
    for row in Table::read("11_canonical_json.csv").rows() {
        let document: Value = serde_json::from_slice(&bytes(row.text("input"))).unwrap();
        let written = signed_bytes(&document).unwrap();
        assert_eq!(written, bytes(row.text("output")), "{}", row.text("name"));
    }
    for row in Table::read("11b_canonical_numbers.csv").rows() {
        let number = f64::from_bits(u64::from_str_radix(row.text("bits"), 16).unwrap());
        let written = signed_bytes(&number).unwrap();
        assert_eq!(String::from_utf8(written).unwrap(), row.text("written"), "{}", row.text("bits"));
    }
}

#[test]
fn what_is_signed_is_the_document_without_its_signature() {
    let document = serde_json::json!({ "b": 1, "signature": "abc", "a": { "signature": 2 } });
    assert_eq!(signed_bytes(&document).unwrap(), br#"{"a":{"signature":2},"b":1}"#);
}

/// FIPS 180-4 with the examples of its first edition's appendix B (FIPS 180-2), and the empty message (NIST CAVP).
const SHA256: &[(&str, usize, &str)] = &[
    ("", 1, "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"),
    ("abc", 1, "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"),
    (
        "abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq",
        1,
        "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1",
    ),
    ("a", 1_000_000, "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0"),
];

#[test]
fn digests_of_files_are_those_of_fips_180_4() {
    for (text, times, digest) in SHA256 {
        let files = [("x.rhai".to_owned(), text.repeat(*times).into_bytes())];
        let source = Source::from_files("x", files).unwrap();
        assert_eq!(source.files[0].sha256, *digest, "{text} {times} times");
    }
}

#[test]
fn a_fingerprint_is_six_groups_of_five_digits_and_depends_on_the_key_alone() {
    let one = signer("North Bench", 1).signer().public_key.fingerprint();
    assert_eq!(one, signer("South Bench", 1).signer().public_key.fingerprint());
    assert_ne!(one, signer("North Bench", 2).signer().public_key.fingerprint());
    let groups: Vec<_> = one.split(' ').collect();
    assert_eq!(groups.len(), 6);
    assert!(groups.iter().all(|group| group.len() == 5 && group.bytes().all(|b| b.is_ascii_digit())));
    // Worked out with Python: the groups of SHA-256 over the key of RFC 8032, TEST 1.
    let key = PublicKey::try_from(ed25519()[0][2].clone()).unwrap();
    assert_eq!(key.fingerprint(), "02145 44043 66322 31051 70008 37623");
}
