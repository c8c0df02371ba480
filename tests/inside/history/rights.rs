//! What each login has a right to on a server.

use postgres::error::SqlState;

use super::server::{send, shop_of};
use crate::history::{Archive, Index, ServerError};
use crate::record::Mode;
use crate::tests::support::{Cluster, Home};

/// Says something as a login and returns by which code of PostgreSQL it is refused.
#[track_caller]
pub(super) fn refused(cluster: &Cluster, login: &str, sql: &str) -> SqlState {
    let mut client = cluster.client(login, "school").unwrap();
    let error = client.batch_execute(&format!("SET search_path TO spoolproof; {sql}")).unwrap_err();
    error.code().unwrap_or_else(|| panic!("{sql}: {error}")).clone()
}

#[test]
fn a_bench_adds_and_sees_its_own_and_nothing_else() {
    let Some(cluster) = Cluster::of_school() else { return };
    cluster.boss("school").batch_execute("CREATE ROLE passer_by LOGIN").unwrap();
    let (_folder, shop) = shop_of(3);
    send(&cluster, "north", &shop);
    let seen = |login: &str| Archive::open(&cluster.address(login), Mode::Bench)?.n_seen();
    assert_eq!((seen("north").unwrap(), seen("south").unwrap(), seen("teacher").unwrap()), (3, 0, 3));
    assert!(matches!(seen("passer_by"), Err(ServerError::NoPart(login)) if login == "passer_by"));
    assert!(matches!(
        Index::on_server(&cluster.address("passer_by"), Mode::Bench),
        Err(ServerError::NoPart(_))
    ));
    // What another bench has sent is not sent again by one that has a copy.
    assert_eq!(send(&cluster, "south", &shop), 0);
    let new = "INSERT INTO document (digest, session, mode, text";
    let text = "'\\x7b7d'::bytea";
    let digest = "encode(sha256('\\x7b7d'::bytea), 'hex')";
    for (login, sql) in [
        ("north", "UPDATE document SET text = ''".to_owned()),
        ("north", "DELETE FROM document".to_owned()),
        ("south", "UPDATE document SET sender = 'south'".to_owned()),
        ("south", "DELETE FROM document".to_owned()),
        ("south", format!("{new}, sender) VALUES ({digest}, 'x', 'bench', {text}, 'north')")),
        ("south", "SELECT * FROM record".to_owned()),
        ("south", "SELECT * FROM reading".to_owned()),
        ("south", "SELECT * FROM pending".to_owned()),
        ("south", "DELETE FROM pending".to_owned()),
        ("teacher", "UPDATE document SET text = ''".to_owned()),
        ("teacher", "DELETE FROM document".to_owned()),
        ("teacher", format!("{new}) VALUES ({digest}, 'x', 'bench', {text})")),
        ("passer_by", "SELECT * FROM document".to_owned()),
        ("passer_by", "SELECT * FROM record".to_owned()),
    ] {
        let code = refused(&cluster, login, &sql);
        let may_not = [SqlState::INSUFFICIENT_PRIVILEGE, SqlState::UNDEFINED_TABLE];
        assert!(may_not.contains(&code), "{login}: {sql}: {code:?}");
    }
    // A digest that is not the text's is none.
    let forged = format!("{new}) VALUES (repeat('0', 64), 'x', 'bench', {text})");
    assert_eq!(refused(&cluster, "south", &forged), SqlState::CHECK_VIOLATION);
    // By setting the role that all benches have, none becomes another.
    let posing = "SET ROLE spoolproof_bench; DO $$ BEGIN ASSERT (SELECT COUNT(*) FROM document) = 0; END $$";
    let mut south = cluster.client("south", "school").unwrap();
    south.batch_execute(&format!("SET search_path TO spoolproof; {posing}")).unwrap();
    assert!(matches!(
        Index::on_server(&cluster.address("north"), Mode::Bench),
        Err(ServerError::MayNotAsk(_))
    ));
    assert_eq!(seen("teacher").unwrap(), 3);
}

#[test]
fn who_may_ask_has_no_right_to_write_what_answers_come_from() {
    let Some(cluster) = Cluster::prepared() else { return };
    cluster.admit("north", "spoolproof_bench");
    cluster.admit("teacher", "spoolproof_instructor");
    let (_folder, shop) = shop_of(3);
    send(&cluster, "north", &shop);
    let home = Home::new();
    let (teacher, boss) = (cluster.url("teacher"), cluster.url("boss"));
    let asked = |url: &str| home.run(&["history", "failing", "--database", url], "").exits(0);
    // Nothing arrives in the answers by who asks, which is said, with who helps.
    asked(&teacher).complains("Arrived since and not in this answer: 3.").says("There are no records");
    home.refuses(2, &["server", "take-up", "--database", &teacher], "the login teacher may ask");
    home.refuses(
        2,
        &["history", "rebuild", "--database", &teacher],
        "your login may not do that on the server",
    );
    home.says(&["server", "take-up", "--database", &boss], "records taken up: 3.");
    let answer = asked(&teacher).out;
    let mut tables: Vec<String> = (cluster.boss("school"))
        .query(
            "SELECT schemaname || '.' || tablename FROM pg_tables WHERE schemaname LIKE 'spoolproof%'",
            &[],
        )
        .unwrap()
        .iter()
        .map(|row| row.get(0))
        .collect();
    tables.sort();
    assert_eq!(tables.len(), 4 + 3 * 10, "{tables:?}");
    for table in &tables {
        for sql in ["DELETE FROM", "TRUNCATE", "DROP TABLE", "LOCK TABLE"] {
            assert_eq!(
                refused(&cluster, "teacher", &format!("{sql} {table}")),
                SqlState::INSUFFICIENT_PRIVILEGE
            );
        }
        let sql = format!("INSERT INTO {table} DEFAULT VALUES");
        assert_eq!(refused(&cluster, "teacher", &sql), SqlState::INSUFFICIENT_PRIVILEGE, "{table}");
    }
    for sql in [
        "UPDATE spoolproof_history_bench.record SET n_holds = 0",
        "UPDATE spoolproof_history_bench.state SET value = 0",
        "CREATE TABLE spoolproof_history_bench.mine (n INT)",
        "CREATE TABLE spoolproof.mine (n INT)",
        "CREATE INDEX mine ON spoolproof_history_bench.record (unit)",
        "SET ROLE spoolproof_administrator",
        "SELECT note_document()",
    ] {
        assert_eq!(refused(&cluster, "teacher", sql), SqlState::INSUFFICIENT_PRIVILEGE, "{sql}");
    }
    assert_eq!(asked(&teacher).out, answer);
    assert_eq!(asked(&boss).out, answer);
}
