-- The store of one office: delivered layer, derived results, decisions, levels in use, runs.
-- Amounts are DECIMAL(38, 18) in mg/kg (solids) or ug/L (waters). Times are UTC.

CREATE TABLE IF NOT EXISTS about (
    schema_version INTEGER NOT NULL
);

-- ---------------------------------------------------------------- sites: one row a revision of a site file
CREATE TABLE IF NOT EXISTS site_file (
    site     VARCHAR NOT NULL,
    revision INTEGER NOT NULL,
    sha256   VARCHAR NOT NULL,
    text     VARCHAR NOT NULL,
    added_at TIMESTAMP NOT NULL,
    PRIMARY KEY (site, revision)
);

-- ---------------------------------------------------------------- delivered layer: written once, never changed
-- one row a file taken over for a site
CREATE TABLE IF NOT EXISTS deliverable (
    number                 INTEGER PRIMARY KEY,
    id                     VARCHAR NOT NULL UNIQUE,
    site                   VARCHAR NOT NULL,
    file                   VARCHAR NOT NULL,
    sha256                 VARCHAR NOT NULL,
    layout_name            VARCHAR NOT NULL,
    layout                 VARCHAR NOT NULL,
    received               DATE NOT NULL,
    imported_at            TIMESTAMP NOT NULL,
    replaces               VARCHAR,
    replaces_only_contents BOOLEAN NOT NULL,
    rows_read              BIGINT NOT NULL,
    results                BIGINT NOT NULL,
    quality_control        BIGINT NOT NULL,
    held_back              BIGINT NOT NULL,
    ignored                BIGINT NOT NULL,
    assumptions            VARCHAR[] NOT NULL
);

-- one row a result cell (or, where ignored, a row of the sheet), with the texts as received
CREATE TABLE IF NOT EXISTS delivered (
    row_id             BIGINT NOT NULL,
    deliverable        INTEGER NOT NULL,
    sheet              VARCHAR NOT NULL,
    row                INTEGER NOT NULL,
    column_letter      VARCHAR NOT NULL,
    text               VARCHAR NOT NULL,
    class              VARCHAR NOT NULL,
    reason             VARCHAR NOT NULL,
    {delivered_fields}
);

-- ---------------------------------------------------------------- derived layer: made from delivered + decisions
-- one row a result or quality-control value in the normal form; decision is null where nobody touched the row;
-- ..._known says what is known of a moment: 'day' (no time of day: the hours mean nothing), 'local' (a time of day without
-- its offset, as delivered), or the delivered offset as '-05:00' (the moment is UTC); '' without a moment; null where an
-- earlier version imported the row
CREATE TABLE IF NOT EXISTS result (
    row_id             BIGINT NOT NULL,
    deliverable        INTEGER NOT NULL,
    decision           BIGINT,
    class              VARCHAR NOT NULL,
    sample_id          VARCHAR NOT NULL,
    lab_sample_id      VARCHAR NOT NULL,
    location           VARCHAR NOT NULL,
    sample_kind        VARCHAR NOT NULL,
    parent_sample      VARCHAR NOT NULL,
    medium             VARCHAR NOT NULL,
    depth_top          DECIMAL(18, 6),
    depth_bottom       DECIMAL(18, 6),
    depth_unit         VARCHAR NOT NULL,
    sampled_at         TIMESTAMP,
    received_at        TIMESTAMP,
    prepared_at        TIMESTAMP,
    analysed_at        TIMESTAMP,
    sampled_at_known   VARCHAR,
    received_at_known  VARCHAR,
    prepared_at_known  VARCHAR,
    analysed_at_known  VARCHAR,
    lab                VARCHAR NOT NULL,
    method             VARCHAR NOT NULL,
    batch              VARCHAR NOT NULL,
    run_no             VARCHAR NOT NULL,
    analyte            VARCHAR NOT NULL,
    analyte_kind       VARCHAR NOT NULL,
    cas                VARCHAR NOT NULL,
    fraction           VARCHAR NOT NULL,
    state              VARCHAR NOT NULL,
    detected           BOOLEAN NOT NULL,
    sign               VARCHAR NOT NULL,
    value              DECIMAL(38, 18),
    value_text         VARCHAR NOT NULL,
    unit               VARCHAR NOT NULL,
    basis              VARCHAR NOT NULL,
    nondetect_limit    DECIMAL(38, 18),
    limit_text         VARCHAR NOT NULL,
    limit_from         VARCHAR NOT NULL,
    reporting_limit    DECIMAL(38, 18),
    quantitation_limit DECIMAL(38, 18),
    detection_limit    DECIMAL(38, 18),
    dilution           DECIMAL(38, 18),
    percent_solids     DECIMAL(38, 18),
    lab_qualifiers     VARCHAR NOT NULL,
    effects            VARCHAR NOT NULL,
    recovery           VARCHAR NOT NULL,
    recovery_low       VARCHAR NOT NULL,
    recovery_high      VARCHAR NOT NULL,
    spike_amount       VARCHAR NOT NULL,
    received_temperature VARCHAR NOT NULL,
    comment            VARCHAR NOT NULL
);

-- one row a delivered row that waits for a person; decision is the act that settled the row's first question and
-- left this one, null where the question arose at import
CREATE TABLE IF NOT EXISTS held (
    id          VARCHAR PRIMARY KEY,
    row_id      BIGINT NOT NULL,
    deliverable INTEGER NOT NULL,
    field       VARCHAR NOT NULL,
    text        VARCHAR NOT NULL,
    reason      VARCHAR NOT NULL,
    proposal    VARCHAR NOT NULL,
    decision    BIGINT
);

-- ---------------------------------------------------------------- custody: what was asked of the laboratory
-- one row a custody record taken over for a site; a corrected record replaces an earlier one, which stays
CREATE TABLE IF NOT EXISTS custody (
    number   INTEGER PRIMARY KEY,
    id       VARCHAR NOT NULL UNIQUE,
    site     VARCHAR NOT NULL,
    file     VARCHAR NOT NULL,
    sha256   VARCHAR NOT NULL,
    received DATE NOT NULL,
    added_at TIMESTAMP NOT NULL,
    replaces VARCHAR
);

-- one row a line of the record, with the texts as received
CREATE TABLE IF NOT EXISTS custody_line (
    custody   INTEGER NOT NULL,
    sheet     VARCHAR NOT NULL,
    row       INTEGER NOT NULL,
    sample    VARCHAR NOT NULL,
    analyses  VARCHAR NOT NULL,
    collected VARCHAR NOT NULL,
    depth     VARCHAR NOT NULL,
    medium    VARCHAR NOT NULL
);

-- ---------------------------------------------------------------- decision layer: append-only, each row sealed by a hash
CREATE TABLE IF NOT EXISTS decision (
    number   BIGINT PRIMARY KEY,
    made_at  TIMESTAMP NOT NULL,
    site     VARCHAR NOT NULL,
    kind     VARCHAR NOT NULL,
    subject  VARCHAR NOT NULL,
    by_whom  VARCHAR NOT NULL,
    why      VARCHAR NOT NULL,
    old_text VARCHAR NOT NULL,
    new_text VARCHAR NOT NULL,
    seal     VARCHAR NOT NULL
);

-- ---------------------------------------------------------------- levels: users' own tables, and the text of every version a run used
CREATE TABLE IF NOT EXISTS level_text (
    sha256    VARCHAR NOT NULL,
    level_table VARCHAR NOT NULL,
    effective VARCHAR NOT NULL,
    facts     VARCHAR NOT NULL,
    rows      VARCHAR NOT NULL,
    own       BOOLEAN NOT NULL,
    added_at  TIMESTAMP NOT NULL,
    PRIMARY KEY (sha256, own)
);

-- ---------------------------------------------------------------- rules of closure: the text of every file a run used
CREATE TABLE IF NOT EXISTS rule_text (
    sha256   VARCHAR NOT NULL,
    kind     VARCHAR NOT NULL,
    name     VARCHAR NOT NULL,
    text     VARCHAR NOT NULL,
    added_at TIMESTAMP NOT NULL,
    PRIMARY KEY (sha256, kind, name)
);

-- the files of every review edition that a run used, as one JSON object
CREATE TABLE IF NOT EXISTS review_text (
    sha256   VARCHAR PRIMARY KEY,
    edition  VARCHAR NOT NULL,
    version  VARCHAR NOT NULL,
    texts    VARCHAR NOT NULL,
    added_at TIMESTAMP NOT NULL
);

-- ---------------------------------------------------------------- runs: one row a screen, and its whole answer
CREATE TABLE IF NOT EXISTS run (
    id       VARCHAR PRIMARY KEY,
    number   BIGINT NOT NULL,
    site     VARCHAR NOT NULL,
    made_at  TIMESTAMP NOT NULL,
    request  VARCHAR NOT NULL,
    answer   VARCHAR NOT NULL
);

-- one row each time a run was asked for: by a person's screen or by a rescreen, with which version of the program;
-- made is true where the run was not there before; software is '' for runs of versions that did not tell it
CREATE TABLE IF NOT EXISTS run_asked (
    number   BIGINT PRIMARY KEY,
    run      VARCHAR NOT NULL,
    site     VARCHAR NOT NULL,
    asked_at TIMESTAMP NOT NULL,
    how      VARCHAR NOT NULL,
    software VARCHAR NOT NULL,
    made     BOOLEAN NOT NULL
);

-- ---------------------------------------------------------------- rescreens: one row a rescreen, one a site of it
-- question is a JSON object: the day of the levels, of the data, conditions and settings, as they were said
CREATE TABLE IF NOT EXISTS rescreen (
    number   BIGINT PRIMARY KEY,
    begun_at TIMESTAMP NOT NULL,
    question VARCHAR NOT NULL,
    software VARCHAR NOT NULL
);

-- run is null where the site was not screened again, and reason says why
CREATE TABLE IF NOT EXISTS rescreen_site (
    rescreen   BIGINT NOT NULL,
    site       VARCHAR NOT NULL,
    before_run VARCHAR,
    run        VARCHAR,
    reason     VARCHAR NOT NULL,
    PRIMARY KEY (rescreen, site)
);
