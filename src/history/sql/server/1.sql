-- What a server keeps: the whole text of each record that was sent, as it was sent, the lines of ledgers,
-- and who may do what.

DO $$
DECLARE
    wanted TEXT;
BEGIN
    -- Roles belong to the whole server, and may be there from another database.
    FOREACH wanted IN ARRAY ARRAY['spoolproof_bench', 'spoolproof_instructor', 'spoolproof_administrator'] LOOP
        IF NOT EXISTS (SELECT FROM pg_roles WHERE rolname = wanted) THEN
            EXECUTE format('CREATE ROLE %I NOLOGIN', wanted);
        END IF;
    END LOOP;
    IF NOT pg_has_role(current_user, 'spoolproof_administrator', 'USAGE') THEN
        EXECUTE format('GRANT spoolproof_administrator TO %I', current_user);
    END IF;
END
$$;

CREATE SCHEMA spoolproof AUTHORIZATION spoolproof_administrator;
-- The tables of the history, those of each mode by themselves: nothing can be summed over two modes by mistake.
CREATE SCHEMA spoolproof_history_bench AUTHORIZATION spoolproof_administrator;
CREATE SCHEMA spoolproof_history_rehearsal AUTHORIZATION spoolproof_administrator;
CREATE SCHEMA spoolproof_history_practice AUTHORIZATION spoolproof_administrator;
SET ROLE spoolproof_administrator;
GRANT USAGE ON SCHEMA spoolproof TO spoolproof_bench, spoolproof_instructor;
GRANT USAGE ON SCHEMA spoolproof_history_bench, spoolproof_history_rehearsal, spoolproof_history_practice
TO spoolproof_instructor;

-- Which of these texts were run.
CREATE TABLE migration (number BIGINT PRIMARY KEY, run TIMESTAMPTZ NOT NULL DEFAULT now());

-- A text goes by the digest of all of it, so that none is there twice and none stands in the way of another.
CREATE TABLE document (
    number BIGINT GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    digest TEXT COLLATE "C" NOT NULL UNIQUE,
    session TEXT COLLATE "C" NOT NULL,
    -- As which it was sent: a text that says another is not taken up.
    mode TEXT COLLATE "C" NOT NULL CHECK (mode IN ('bench', 'rehearsal', 'practice')),
    text BYTEA NOT NULL,
    -- The digest of what the record says, over the text up to the line of it: the same before and after it is signed.
    content TEXT COLLATE "C" NOT NULL GENERATED ALWAYS AS (
        encode(sha256(substring(text FROM 1 FOR position('\x0a202022646967657374223a20'::BYTEA IN text))), 'hex')
    ) STORED,
    sender TEXT COLLATE "C" NOT NULL DEFAULT session_user,
    arrived TIMESTAMPTZ NOT NULL DEFAULT now(),
    CHECK (digest = encode(sha256(text), 'hex'))
);

CREATE INDEX document_content ON document (content);

-- Documents that the tables of the history do not say yet.
CREATE TABLE pending (number BIGINT PRIMARY KEY);

CREATE FUNCTION note_document() RETURNS TRIGGER LANGUAGE plpgsql SECURITY DEFINER SET search_path = spoolproof, pg_temp AS $$
BEGIN
    INSERT INTO pending VALUES (NEW.number);
    RETURN NULL;
END
$$;
CREATE TRIGGER noted AFTER INSERT ON document FOR EACH ROW EXECUTE FUNCTION note_document();

-- Says of digests, of a text or of what it says, which have arrived, from whomever: who knows a digest has the text.
CREATE FUNCTION arrived(digests TEXT[]) RETURNS SETOF TEXT LANGUAGE sql STABLE SECURITY DEFINER SET search_path = spoolproof, pg_temp
AS $$
    SELECT digest FROM document WHERE digest = ANY (digests) UNION SELECT content FROM document WHERE content = ANY (digests)
$$;
-- A line of a ledger as it was written. A ledger goes by the digest of its first line, and each sender has a copy of
-- its own, so that none stands in the way of another.
CREATE TABLE ledger_line (
    sender TEXT COLLATE "C" NOT NULL DEFAULT session_user,
    mode TEXT COLLATE "C" NOT NULL CHECK (mode IN ('bench', 'rehearsal', 'practice')),
    ledger TEXT COLLATE "C" NOT NULL,
    n BIGINT NOT NULL CHECK (n > 0),
    text BYTEA NOT NULL,
    arrived TIMESTAMPTZ NOT NULL DEFAULT now(),
    PRIMARY KEY (sender, mode, ledger, n)
);

REVOKE ALL ON FUNCTION arrived(TEXT[]), note_document() FROM PUBLIC;
GRANT EXECUTE ON FUNCTION arrived(TEXT[]) TO spoolproof_bench, spoolproof_instructor;

-- A bench adds under its own login, and sees what came from there; nobody but who administers changes or deletes, or
-- writes the tables of the history.
ALTER TABLE document ENABLE ROW LEVEL SECURITY;
CREATE POLICY adds ON document FOR INSERT TO spoolproof_bench WITH CHECK (sender = session_user);
CREATE POLICY sees_its_own ON document FOR SELECT TO spoolproof_bench USING (sender = session_user);
CREATE POLICY sees_all ON document FOR SELECT TO spoolproof_instructor USING (true);
GRANT SELECT, INSERT (digest, session, mode, text) ON document TO spoolproof_bench;
GRANT SELECT ON document, pending TO spoolproof_instructor;
ALTER TABLE ledger_line ENABLE ROW LEVEL SECURITY;
CREATE POLICY adds ON ledger_line FOR INSERT TO spoolproof_bench WITH CHECK (sender = session_user);
CREATE POLICY sees_its_own ON ledger_line FOR SELECT TO spoolproof_bench USING (sender = session_user);
CREATE POLICY sees_all ON ledger_line FOR SELECT TO spoolproof_instructor USING (true);
GRANT SELECT, INSERT (mode, ledger, n, text) ON ledger_line TO spoolproof_bench;
GRANT SELECT ON ledger_line TO spoolproof_instructor;
RESET ROLE;
