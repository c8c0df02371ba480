-- What the tables of the history have on a server beside what they have in a file: that a row is of the bench that its
-- record and its circuit are of. With that PostgreSQL knows how many rows a join by number and bench comes to, and
-- chooses its plans by it.
ALTER TABLE record ADD UNIQUE (id, bench);
ALTER TABLE circuit ADD UNIQUE (id, bench);
ALTER TABLE test
    ADD FOREIGN KEY (record, bench) REFERENCES record (id, bench),
    ADD FOREIGN KEY (circuit, bench) REFERENCES circuit (id, bench);
ALTER TABLE reading
    ADD FOREIGN KEY (record, bench) REFERENCES record (id, bench),
    ADD FOREIGN KEY (circuit, bench) REFERENCES circuit (id, bench);
ALTER TABLE rig_check ADD FOREIGN KEY (record, bench) REFERENCES record (id, bench);
