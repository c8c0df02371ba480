//! Digests, signatures and the canonical form against their standards.
#![expect(clippy::unwrap_used, reason = "a test stops at the first surprise")]

mod common;
mod sharing;

use common::Table;
use serde_json::Value;
use sharing::signer;
use spoolproof::procedure::Source;
use spoolproof::share::{OwnKey, PublicKey, signed_bytes};

fn bytes(hex: &str) -> Vec<u8> {
    (0..hex.len()).step_by(2).map(|at| u8::from_str_radix(&hex[at..at + 2], 16).unwrap()).collect()
}

/// RFC 8032, section 7.1: name, secret key, public key, message, signature.
const ED25519: &[[&str; 5]] = &[
    [
        "TEST 1",
        "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60",
        "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a",
        "",
        "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555fb8821590a33bacc61e39701cf9b46bd25bf5f0595bbe24655141438e7a100b",
    ],
    [
        "TEST 2",
        "4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb",
        "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c",
        "72",
        "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00",
    ],
    [
        "TEST 3",
        "c5aa8df43f9f837bedb7442f31dcb7b166d38535076f094b85ce3a2e0b4458f7",
        "fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025",
        "af82",
        "6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac18ff9b538d16f290ae67f760984dc6594a7c15e9716ed28dc027beceea1ec40a",
    ],
    [
        "TEST SHA(abc)",
        "833fe62409237b9d62ec77587520911e9a759cec1d19755b7da901b96dca3d42",
        "ec172b93ad5e563bf4932c70e1245034c35467ef2efd4d64ebf819683467e2bf",
        "ddaf35a193617abacc417349ae20413112e6fa4e89a97ea20a9eeee64b55d39a2192992a274fc1a836ba3c23a3feebbd454d4423643ce80e2a9ac94fa54ca49f",
        "dc2a4459e7369633a52b1bf277839a00201009a3efbf3ecb69bea2186c26b58909351fc9ac90b3ecfdfbc7c66431e0303dca179c138ac17ad9bef1177331a704",
    ],
];

#[test]
fn signatures_are_those_of_rfc_8032() {
    for [name, secret, public, message, signature] in ED25519 {
        let own = OwnKey::from_secret(name, bytes(secret).try_into().unwrap()).unwrap();
        let public_key = own.signer().public_key;
        assert_eq!(String::from(public_key), *public, "{name}");
        assert_eq!(own.sign(&bytes(message)), *signature, "{name}");
        assert!(public_key.verifies(&bytes(message), signature), "{name}");
        assert!(!public_key.verifies(&[bytes(message), vec![0]].concat(), signature), "{name}");
    }
}

/// RFC 8032, section 5.1: the order of the group, in the byte order of signatures.
const ORDER: &str = "edd3f55c1a631258d69cf7a2def9de1400000000000000000000000000000010";

#[test]
fn a_signature_has_one_spelling_only() {
    let [_, _, public, message, signature] = ED25519[1];
    let key = PublicKey::try_from(public.to_owned()).unwrap();
    // RFC 8032, section 8.4: the same scalar plus the order of the group would verify where its range is not checked.
    let (mut scalar, mut carry) = (bytes(&signature[64..]), 0_u16);
    for (byte, order) in scalar.iter_mut().zip(bytes(ORDER)) {
        carry += u16::from(*byte) + u16::from(order);
        (*byte, carry) = (carry as u8, carry >> 8);
    }
    let other: String = scalar.iter().map(|byte| format!("{byte:02x}")).collect();
    assert!(!key.verifies(&bytes(message), &format!("{}{other}", &signature[..64])));
    assert!(!key.verifies(&bytes(message), &signature.to_uppercase()));
    for wrong in ["", "00", &signature[..126], &format!("{signature}00"), &signature.replace('9', "g")] {
        assert!(!key.verifies(&bytes(message), wrong), "{wrong}");
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
    assert!(
        groups.len() == 6 && groups.iter().all(|g| g.len() == 5 && g.bytes().all(|b| b.is_ascii_digit()))
    );
    // Worked out with Python: the groups of SHA-256 over the key of RFC 8032, TEST 1.
    let key = PublicKey::try_from(ED25519[0][2].to_owned()).unwrap();
    assert_eq!(key.fingerprint(), "02145 44043 66322 31051 70008 37623");
}
