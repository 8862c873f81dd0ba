-- The first schema as it was kept, for tests of migration. Never changed.
CREATE TABLE about (
    schema INTEGER NOT NULL,
    PRIMARY KEY (schema)
);

CREATE TABLE lots (
    kept INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
    number TEXT NOT NULL,
    ingredient TEXT NOT NULL,
    supplier TEXT NOT NULL,
    supplier_lot TEXT NOT NULL,
    received DATE,
    expiry DATE,
    price DOUBLE,
    currency TEXT NOT NULL,
    note TEXT NOT NULL,
    CONSTRAINT lots_key UNIQUE (number)
);

CREATE TABLE offers (
    kept INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
    ingredient TEXT NOT NULL,
    supplier TEXT NOT NULL,
    pack DOUBLE NOT NULL,
    price DOUBLE NOT NULL,
    currency TEXT NOT NULL,
    date DATE NOT NULL,
    shipping DOUBLE NOT NULL,
    note TEXT NOT NULL,
    CONSTRAINT offers_key UNIQUE (ingredient, supplier, pack, currency, date)
);

CREATE TABLE own_cells (
    kept INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
    ingredient TEXT NOT NULL,
    "column" TEXT NOT NULL,
    text TEXT NOT NULL,
    CONSTRAINT own_cells_key UNIQUE (ingredient, "column")
);

CREATE TABLE packaging (
    kept INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
    name TEXT NOT NULL,
    kind TEXT NOT NULL,
    price DOUBLE,
    currency TEXT NOT NULL,
    volume DOUBLE,
    tare DOUBLE,
    note TEXT NOT NULL,
    CONSTRAINT packaging_key UNIQUE (name)
);

CREATE TABLE versions (
    kept INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
    product TEXT NOT NULL,
    name TEXT NOT NULL,
    parent TEXT,
    reason TEXT NOT NULL,
    created DATETIME NOT NULL,
    CONSTRAINT versions_key UNIQUE (product, name),
    CONSTRAINT versions_parent FOREIGN KEY(product, parent) REFERENCES versions (product, name) DEFERRABLE INITIALLY DEFERRED
);

CREATE TABLE batches (
    kept INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
    number TEXT NOT NULL,
    product TEXT NOT NULL,
    version TEXT NOT NULL,
    made DATE NOT NULL,
    planned DOUBLE NOT NULL,
    actual DOUBLE,
    maker TEXT NOT NULL,
    room DOUBLE,
    jars BIGINT,
    rejected BIGINT,
    deviation TEXT NOT NULL,
    note TEXT NOT NULL,
    CONSTRAINT batches_key UNIQUE (number),
    CONSTRAINT batches_version FOREIGN KEY(product, version) REFERENCES versions (product, name) DEFERRABLE INITIALLY DEFERRED
);

CREATE TABLE trials (
    kept INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
    name TEXT NOT NULL,
    product TEXT NOT NULL,
    version TEXT NOT NULL,
    made DATE NOT NULL,
    aim TEXT NOT NULL,
    changed TEXT NOT NULL,
    mass DOUBLE,
    hot_water DOUBLE,
    hot_oil DOUBLE,
    cooling DOUBLE,
    added_at DOUBLE,
    room DOUBLE,
    outcome TEXT NOT NULL,
    note TEXT NOT NULL,
    CONSTRAINT trials_key UNIQUE (name),
    CONSTRAINT trials_version FOREIGN KEY(product, version) REFERENCES versions (product, name) DEFERRABLE INITIALLY DEFERRED
);

CREATE TABLE version_lines (
    kept INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
    product TEXT NOT NULL,
    version TEXT NOT NULL,
    position BIGINT NOT NULL,
    ingredient TEXT NOT NULL,
    percent DOUBLE NOT NULL,
    phase TEXT NOT NULL,
    CONSTRAINT version_lines_key UNIQUE (product, version, position),
    CONSTRAINT version_lines_version FOREIGN KEY(product, version) REFERENCES versions (product, name) DEFERRABLE INITIALLY DEFERRED
);

CREATE TABLE batch_lines (
    kept INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
    batch TEXT NOT NULL,
    position BIGINT NOT NULL,
    ingredient TEXT NOT NULL,
    lot TEXT NOT NULL,
    planned DOUBLE NOT NULL,
    actual DOUBLE,
    CONSTRAINT batch_lines_key UNIQUE (batch, position),
    CONSTRAINT batch_lines_batch FOREIGN KEY(batch) REFERENCES batches (number) DEFERRABLE INITIALLY DEFERRED,
    CONSTRAINT batch_lines_lot FOREIGN KEY(lot) REFERENCES lots (number) DEFERRABLE INITIALLY DEFERRED
);

CREATE TABLE movements (
    kept INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
    lot TEXT NOT NULL,
    "when" DATETIME NOT NULL,
    kg DOUBLE NOT NULL,
    reason TEXT NOT NULL,
    batch TEXT,
    CONSTRAINT movements_lot FOREIGN KEY(lot) REFERENCES lots (number) DEFERRABLE INITIALLY DEFERRED,
    CONSTRAINT movements_batch FOREIGN KEY(batch) REFERENCES batches (number) DEFERRABLE INITIALLY DEFERRED
);

CREATE TABLE packaging_counts (
    kept INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
    packaging TEXT NOT NULL,
    "when" DATETIME NOT NULL,
    pieces BIGINT NOT NULL,
    reason TEXT NOT NULL,
    batch TEXT,
    CONSTRAINT packaging_counts_packaging FOREIGN KEY(packaging) REFERENCES packaging (name) DEFERRABLE INITIALLY DEFERRED,
    CONSTRAINT packaging_counts_batch FOREIGN KEY(batch) REFERENCES batches (number) DEFERRABLE INITIALLY DEFERRED
);

CREATE TABLE readings (
    kept INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
    trial TEXT NOT NULL,
    number BIGINT NOT NULL,
    age DOUBLE NOT NULL,
    temperature DOUBLE NOT NULL,
    instrument TEXT NOT NULL,
    value DOUBLE NOT NULL,
    unit TEXT NOT NULL,
    geometry TEXT NOT NULL,
    held DOUBLE,
    condition TEXT NOT NULL,
    tester TEXT NOT NULL,
    photo TEXT NOT NULL,
    excluded TEXT NOT NULL,
    note TEXT NOT NULL,
    CONSTRAINT readings_key UNIQUE (trial, number),
    CONSTRAINT readings_trial FOREIGN KEY(trial) REFERENCES trials (name) DEFERRABLE INITIALLY DEFERRED
);

CREATE TABLE trial_weights (
    kept INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
    trial TEXT NOT NULL,
    ingredient TEXT NOT NULL,
    phase TEXT NOT NULL,
    actual DOUBLE NOT NULL,
    CONSTRAINT trial_weights_key UNIQUE (trial, ingredient, phase),
    CONSTRAINT trial_weights_trial FOREIGN KEY(trial) REFERENCES trials (name) DEFERRABLE INITIALLY DEFERRED
);

INSERT INTO about (schema) VALUES (1);
