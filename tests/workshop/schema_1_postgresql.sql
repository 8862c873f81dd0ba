-- The first schema as it was kept, for tests of migration. Never changed.
CREATE TABLE about (
    schema INTEGER NOT NULL,
    PRIMARY KEY (schema)
);

CREATE TABLE lots (
    kept SERIAL NOT NULL,
    number TEXT NOT NULL,
    ingredient TEXT NOT NULL,
    supplier TEXT NOT NULL,
    supplier_lot TEXT NOT NULL,
    received DATE,
    expiry DATE,
    price DOUBLE PRECISION,
    currency TEXT NOT NULL,
    note TEXT NOT NULL,
    PRIMARY KEY (kept),
    CONSTRAINT lots_key UNIQUE (number)
);

CREATE TABLE offers (
    kept SERIAL NOT NULL,
    ingredient TEXT NOT NULL,
    supplier TEXT NOT NULL,
    pack DOUBLE PRECISION NOT NULL,
    price DOUBLE PRECISION NOT NULL,
    currency TEXT NOT NULL,
    date DATE NOT NULL,
    shipping DOUBLE PRECISION NOT NULL,
    note TEXT NOT NULL,
    PRIMARY KEY (kept),
    CONSTRAINT offers_key UNIQUE (ingredient, supplier, pack, currency, date)
);

CREATE TABLE own_cells (
    kept SERIAL NOT NULL,
    ingredient TEXT NOT NULL,
    "column" TEXT NOT NULL,
    text TEXT NOT NULL,
    PRIMARY KEY (kept),
    CONSTRAINT own_cells_key UNIQUE (ingredient, "column")
);

CREATE TABLE packaging (
    kept SERIAL NOT NULL,
    name TEXT NOT NULL,
    kind TEXT NOT NULL,
    price DOUBLE PRECISION,
    currency TEXT NOT NULL,
    volume DOUBLE PRECISION,
    tare DOUBLE PRECISION,
    note TEXT NOT NULL,
    PRIMARY KEY (kept),
    CONSTRAINT packaging_key UNIQUE (name)
);

CREATE TABLE versions (
    kept SERIAL NOT NULL,
    product TEXT NOT NULL,
    name TEXT NOT NULL,
    parent TEXT,
    reason TEXT NOT NULL,
    created TIMESTAMP WITHOUT TIME ZONE NOT NULL,
    PRIMARY KEY (kept),
    CONSTRAINT versions_key UNIQUE (product, name),
    CONSTRAINT versions_parent FOREIGN KEY(product, parent) REFERENCES versions (product, name) DEFERRABLE INITIALLY DEFERRED
);

CREATE TABLE batches (
    kept SERIAL NOT NULL,
    number TEXT NOT NULL,
    product TEXT NOT NULL,
    version TEXT NOT NULL,
    made DATE NOT NULL,
    planned DOUBLE PRECISION NOT NULL,
    actual DOUBLE PRECISION,
    maker TEXT NOT NULL,
    room DOUBLE PRECISION,
    jars BIGINT,
    rejected BIGINT,
    deviation TEXT NOT NULL,
    note TEXT NOT NULL,
    PRIMARY KEY (kept),
    CONSTRAINT batches_key UNIQUE (number),
    CONSTRAINT batches_version FOREIGN KEY(product, version) REFERENCES versions (product, name) DEFERRABLE INITIALLY DEFERRED
);

CREATE TABLE trials (
    kept SERIAL NOT NULL,
    name TEXT NOT NULL,
    product TEXT NOT NULL,
    version TEXT NOT NULL,
    made DATE NOT NULL,
    aim TEXT NOT NULL,
    changed TEXT NOT NULL,
    mass DOUBLE PRECISION,
    hot_water DOUBLE PRECISION,
    hot_oil DOUBLE PRECISION,
    cooling DOUBLE PRECISION,
    added_at DOUBLE PRECISION,
    room DOUBLE PRECISION,
    outcome TEXT NOT NULL,
    note TEXT NOT NULL,
    PRIMARY KEY (kept),
    CONSTRAINT trials_key UNIQUE (name),
    CONSTRAINT trials_version FOREIGN KEY(product, version) REFERENCES versions (product, name) DEFERRABLE INITIALLY DEFERRED
);

CREATE TABLE version_lines (
    kept SERIAL NOT NULL,
    product TEXT NOT NULL,
    version TEXT NOT NULL,
    position BIGINT NOT NULL,
    ingredient TEXT NOT NULL,
    percent DOUBLE PRECISION NOT NULL,
    phase TEXT NOT NULL,
    PRIMARY KEY (kept),
    CONSTRAINT version_lines_key UNIQUE (product, version, position),
    CONSTRAINT version_lines_version FOREIGN KEY(product, version) REFERENCES versions (product, name) DEFERRABLE INITIALLY DEFERRED
);

CREATE TABLE batch_lines (
    kept SERIAL NOT NULL,
    batch TEXT NOT NULL,
    position BIGINT NOT NULL,
    ingredient TEXT NOT NULL,
    lot TEXT NOT NULL,
    planned DOUBLE PRECISION NOT NULL,
    actual DOUBLE PRECISION,
    PRIMARY KEY (kept),
    CONSTRAINT batch_lines_key UNIQUE (batch, position),
    CONSTRAINT batch_lines_batch FOREIGN KEY(batch) REFERENCES batches (number) DEFERRABLE INITIALLY DEFERRED,
    CONSTRAINT batch_lines_lot FOREIGN KEY(lot) REFERENCES lots (number) DEFERRABLE INITIALLY DEFERRED
);

CREATE TABLE movements (
    kept SERIAL NOT NULL,
    lot TEXT NOT NULL,
    "when" TIMESTAMP WITHOUT TIME ZONE NOT NULL,
    kg DOUBLE PRECISION NOT NULL,
    reason TEXT NOT NULL,
    batch TEXT,
    PRIMARY KEY (kept),
    CONSTRAINT movements_lot FOREIGN KEY(lot) REFERENCES lots (number) DEFERRABLE INITIALLY DEFERRED,
    CONSTRAINT movements_batch FOREIGN KEY(batch) REFERENCES batches (number) DEFERRABLE INITIALLY DEFERRED
);

CREATE TABLE packaging_counts (
    kept SERIAL NOT NULL,
    packaging TEXT NOT NULL,
    "when" TIMESTAMP WITHOUT TIME ZONE NOT NULL,
    pieces BIGINT NOT NULL,
    reason TEXT NOT NULL,
    batch TEXT,
    PRIMARY KEY (kept),
    CONSTRAINT packaging_counts_packaging FOREIGN KEY(packaging) REFERENCES packaging (name) DEFERRABLE INITIALLY DEFERRED,
    CONSTRAINT packaging_counts_batch FOREIGN KEY(batch) REFERENCES batches (number) DEFERRABLE INITIALLY DEFERRED
);

CREATE TABLE readings (
    kept SERIAL NOT NULL,
    trial TEXT NOT NULL,
    number BIGINT NOT NULL,
    age DOUBLE PRECISION NOT NULL,
    temperature DOUBLE PRECISION NOT NULL,
    instrument TEXT NOT NULL,
    value DOUBLE PRECISION NOT NULL,
    unit TEXT NOT NULL,
    geometry TEXT NOT NULL,
    held DOUBLE PRECISION,
    condition TEXT NOT NULL,
    tester TEXT NOT NULL,
    photo TEXT NOT NULL,
    excluded TEXT NOT NULL,
    note TEXT NOT NULL,
    PRIMARY KEY (kept),
    CONSTRAINT readings_key UNIQUE (trial, number),
    CONSTRAINT readings_trial FOREIGN KEY(trial) REFERENCES trials (name) DEFERRABLE INITIALLY DEFERRED
);

CREATE TABLE trial_weights (
    kept SERIAL NOT NULL,
    trial TEXT NOT NULL,
    ingredient TEXT NOT NULL,
    phase TEXT NOT NULL,
    actual DOUBLE PRECISION NOT NULL,
    PRIMARY KEY (kept),
    CONSTRAINT trial_weights_key UNIQUE (trial, ingredient, phase),
    CONSTRAINT trial_weights_trial FOREIGN KEY(trial) REFERENCES trials (name) DEFERRABLE INITIALLY DEFERRED
);

INSERT INTO about (schema) VALUES (1);
