-- The store, version 1. What was recorded: journal and evidence. What follows from it and can be made
-- again: visits, things, head.
CREATE TABLE journal (
    sequence INTEGER PRIMARY KEY,
    recorded TEXT NOT NULL,
    subject TEXT NOT NULL,
    kind TEXT NOT NULL,
    who TEXT NOT NULL,
    evidence TEXT NOT NULL,
    body TEXT NOT NULL,
    previous TEXT NOT NULL,
    hash TEXT NOT NULL
) STRICT;
CREATE INDEX journal_of_subject ON journal (subject, sequence);
CREATE TABLE evidence (
    sha256 TEXT NOT NULL PRIMARY KEY,
    size INTEGER NOT NULL,
    coding TEXT NOT NULL,
    kept_sha256 TEXT NOT NULL,
    kept BLOB NOT NULL
) STRICT;
CREATE TABLE visits (
    visit TEXT NOT NULL PRIMARY KEY,
    analyser TEXT NOT NULL,
    plan TEXT NOT NULL,
    title TEXT NOT NULL,
    opened TEXT NOT NULL,
    changed TEXT NOT NULL,
    state TEXT NOT NULL,
    until TEXT NOT NULL,
    owner TEXT NOT NULL,
    entries INTEGER NOT NULL,
    last INTEGER NOT NULL
) STRICT;
CREATE TABLE things (
    thing TEXT NOT NULL PRIMARY KEY,
    kind TEXT NOT NULL,
    id TEXT NOT NULL,
    body TEXT NOT NULL,
    due TEXT NOT NULL,
    changed TEXT NOT NULL,
    entries INTEGER NOT NULL,
    last INTEGER NOT NULL
) STRICT;
CREATE TABLE head (
    one INTEGER PRIMARY KEY CHECK (one = 1),
    entries INTEGER NOT NULL,
    hash TEXT NOT NULL
) STRICT;
