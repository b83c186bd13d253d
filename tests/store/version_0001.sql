-- The tables as version 0001 of the database had them. It never changes.
CREATE TABLE alembic_version (
    version_num VARCHAR(32) NOT NULL,
    CONSTRAINT alembic_version_pkc PRIMARY KEY (version_num)
);
CREATE TABLE drill_as_set (
    number INTEGER NOT NULL,
    digest VARCHAR NOT NULL,
    drill VARCHAR NOT NULL,
    title VARCHAR NOT NULL,
    fingerprint VARCHAR NOT NULL,
    setting VARCHAR NOT NULL,
    as_set VARCHAR NOT NULL,
    game VARCHAR NOT NULL,
    game_hash VARCHAR NOT NULL,
    better VARCHAR NOT NULL,
    asks VARCHAR NOT NULL,
    direction VARCHAR NOT NULL,
    lost_counts BIGINT,
    club VARCHAR NOT NULL,
    swing VARCHAR NOT NULL,
    unit VARCHAR NOT NULL,
    CONSTRAINT pk_drill_as_set PRIMARY KEY (number),
    CONSTRAINT uq_drill_as_set_digest UNIQUE (digest)
);
CREATE INDEX ix_drill_as_set_fingerprint ON drill_as_set (fingerprint);
CREATE TABLE "match" (
    number INTEGER NOT NULL,
    id VARCHAR NOT NULL,
    drill VARCHAR NOT NULL,
    data VARCHAR NOT NULL,
    started VARCHAR NOT NULL,
    started_offset INTEGER NOT NULL,
    ended_at VARCHAR,
    ended_offset INTEGER,
    CONSTRAINT pk_match PRIMARY KEY (number),
    CONSTRAINT uq_match_id UNIQUE (id)
);
CREATE TABLE player (
    number INTEGER NOT NULL,
    id VARCHAR NOT NULL,
    name VARCHAR NOT NULL,
    "key" VARCHAR NOT NULL,
    unit VARCHAR NOT NULL,
    hand VARCHAR,
    "column" VARCHAR,
    hidden BOOLEAN NOT NULL,
    pace INTEGER,
    at VARCHAR NOT NULL,
    at_offset INTEGER NOT NULL,
    CONSTRAINT pk_player PRIMARY KEY (number),
    CONSTRAINT uq_player_id UNIQUE (id),
    CONSTRAINT uq_player_key UNIQUE ("key")
);
CREATE TABLE club (
    player INTEGER NOT NULL,
    id VARCHAR NOT NULL,
    label VARCHAR NOT NULL,
    position INTEGER NOT NULL,
    usual_carry BIGINT,
    unit VARCHAR NOT NULL,
    retired BOOLEAN NOT NULL,
    CONSTRAINT pk_club PRIMARY KEY (player, id),
    CONSTRAINT fk_club_player FOREIGN KEY(player) REFERENCES player (number)
);
CREATE TABLE handicap (
    number INTEGER NOT NULL,
    player INTEGER NOT NULL,
    value INTEGER,
    at VARCHAR NOT NULL,
    at_offset INTEGER NOT NULL,
    CONSTRAINT pk_handicap PRIMARY KEY (number),
    CONSTRAINT fk_handicap_player FOREIGN KEY(player) REFERENCES player (number)
);
CREATE INDEX ix_handicap_player ON handicap (player);
CREATE TABLE match_player (
    "match" INTEGER NOT NULL,
    player INTEGER NOT NULL,
    place INTEGER NOT NULL,
    data VARCHAR NOT NULL,
    CONSTRAINT pk_match_player PRIMARY KEY ("match", player),
    CONSTRAINT fk_match_player_match FOREIGN KEY("match") REFERENCES "match" (number),
    CONSTRAINT fk_match_player_player FOREIGN KEY(player) REFERENCES player (number),
    CONSTRAINT uq_match_player_match_place UNIQUE ("match", place)
);
CREATE TABLE visit (
    number INTEGER NOT NULL,
    id VARCHAR NOT NULL,
    player INTEGER NOT NULL,
    day VARCHAR NOT NULL,
    place VARCHAR,
    surface VARCHAR,
    ball VARCHAR,
    wind VARCHAR,
    note VARCHAR,
    CONSTRAINT pk_visit PRIMARY KEY (number),
    CONSTRAINT fk_visit_player FOREIGN KEY(player) REFERENCES player (number),
    CONSTRAINT uq_visit_id UNIQUE (id)
);
CREATE INDEX ix_visit_player_day ON visit (player, day);
CREATE TABLE session (
    number INTEGER NOT NULL,
    id VARCHAR NOT NULL,
    player INTEGER NOT NULL,
    visit_id VARCHAR,
    "plan" VARCHAR NOT NULL,
    started VARCHAR NOT NULL,
    started_offset INTEGER NOT NULL,
    ended_at VARCHAR,
    ended_offset INTEGER,
    CONSTRAINT pk_session PRIMARY KEY (number),
    CONSTRAINT fk_session_player FOREIGN KEY(player) REFERENCES player (number),
    CONSTRAINT fk_session_visit_id FOREIGN KEY(visit_id) REFERENCES visit (id),
    CONSTRAINT uq_session_id UNIQUE (id)
);
CREATE INDEX ix_session_player ON session (player);
CREATE TABLE run (
    number INTEGER NOT NULL,
    id VARCHAR NOT NULL,
    player INTEGER NOT NULL,
    drill VARCHAR NOT NULL,
    fingerprint VARCHAR NOT NULL,
    drill_as_set INTEGER NOT NULL,
    tally BOOLEAN NOT NULL,
    started VARCHAR NOT NULL,
    started_offset INTEGER NOT NULL,
    counted INTEGER NOT NULL,
    voided INTEGER NOT NULL,
    undone INTEGER NOT NULL,
    score BIGINT,
    rank BIGINT,
    finished BOOLEAN NOT NULL,
    ended VARCHAR,
    ended_at VARCHAR,
    ended_offset INTEGER,
    ended_by INTEGER,
    broken VARCHAR,
    visit_id VARCHAR,
    session_id VARCHAR,
    block VARCHAR,
    match_id VARCHAR,
    decider BOOLEAN NOT NULL,
    CONSTRAINT pk_run PRIMARY KEY (number),
    CONSTRAINT fk_run_drill_as_set FOREIGN KEY(drill_as_set) REFERENCES drill_as_set (number),
    CONSTRAINT fk_run_match_id FOREIGN KEY(match_id) REFERENCES "match" (id),
    CONSTRAINT fk_run_player FOREIGN KEY(player) REFERENCES player (number),
    CONSTRAINT fk_run_session_id FOREIGN KEY(session_id) REFERENCES session (id),
    CONSTRAINT fk_run_visit_id FOREIGN KEY(visit_id) REFERENCES visit (id),
    CONSTRAINT uq_run_id UNIQUE (id)
);
CREATE INDEX ix_run_best ON run (player, fingerprint, rank, ended_by) WHERE rank IS NOT NULL;
CREATE INDEX ix_run_of_drill ON run (drill, number);
CREATE INDEX ix_run_of_match ON run (match_id) WHERE match_id IS NOT NULL;
CREATE INDEX ix_run_of_player ON run (player, number);
CREATE INDEX ix_run_of_player_and_drill ON run (player, drill, number);
CREATE INDEX ix_run_of_player_and_setting ON run (player, fingerprint, number);
CREATE INDEX ix_run_of_session ON run (session_id) WHERE session_id IS NOT NULL;
CREATE INDEX ix_run_of_setting ON run (fingerprint, number);
CREATE UNIQUE INDEX ix_run_open ON run (player, drill) WHERE ended IS NULL AND NOT decider;
CREATE TABLE session_event (
    number INTEGER NOT NULL,
    session INTEGER NOT NULL,
    seq INTEGER NOT NULL,
    at VARCHAR NOT NULL,
    at_offset INTEGER NOT NULL,
    kind VARCHAR NOT NULL,
    data VARCHAR NOT NULL,
    CONSTRAINT pk_session_event PRIMARY KEY (number),
    CONSTRAINT fk_session_event_session FOREIGN KEY(session) REFERENCES session (number),
    CONSTRAINT uq_session_event_session_seq UNIQUE (session, seq)
);
CREATE TABLE stock_carry (
    number INTEGER NOT NULL,
    player INTEGER NOT NULL,
    club VARCHAR NOT NULL,
    swing VARCHAR NOT NULL,
    carry INTEGER NOT NULL,
    low INTEGER NOT NULL,
    high INTEGER NOT NULL,
    spread INTEGER NOT NULL,
    unit VARCHAR NOT NULL,
    at VARCHAR NOT NULL,
    at_offset INTEGER NOT NULL,
    session_id VARCHAR,
    data VARCHAR NOT NULL,
    CONSTRAINT pk_stock_carry PRIMARY KEY (number),
    CONSTRAINT fk_stock_carry_player FOREIGN KEY(player) REFERENCES player (number),
    CONSTRAINT fk_stock_carry_session_id FOREIGN KEY(session_id) REFERENCES session (id)
);
CREATE INDEX ix_stock_carry_player_club_swing_number ON stock_carry (player, club, swing, number);
CREATE TABLE entry (
    number INTEGER NOT NULL,
    run INTEGER NOT NULL,
    seq INTEGER NOT NULL,
    at VARCHAR NOT NULL,
    at_offset INTEGER NOT NULL,
    kind VARCHAR NOT NULL,
    text VARCHAR NOT NULL,
    player INTEGER NOT NULL,
    club VARCHAR,
    swing VARCHAR,
    aim_carry INTEGER,
    aim_width INTEGER,
    aim_depth INTEGER,
    lateral_side INTEGER,
    lateral_size INTEGER,
    lateral_grid INTEGER,
    lateral_lost BOOLEAN,
    depth_side INTEGER,
    depth_size INTEGER,
    depth_grid INTEGER,
    depth_lost BOOLEAN,
    carry INTEGER,
    carry_grid INTEGER,
    out BOOLEAN,
    match_order INTEGER,
    CONSTRAINT pk_entry PRIMARY KEY (number),
    CONSTRAINT fk_entry_player FOREIGN KEY(player) REFERENCES player (number),
    CONSTRAINT fk_entry_run FOREIGN KEY(run) REFERENCES run (number),
    CONSTRAINT uq_entry_run_seq UNIQUE (run, seq)
);
CREATE INDEX ix_entry_shots ON entry (player, club, swing, number) WHERE kind = 'shot';
INSERT INTO alembic_version VALUES ('0001');
