-- The aggregates of `struck pool reduce --by cover`, made by DuckDB from the folders that nurseries published to.
--
--   SET VARIABLE src = '/mnt/society/**/*.jsonl';
--   SET VARIABLE aggregates = '/tmp/aggregates.jsonl';
--   .read tests/pool/aggregate.sql
--   $ struck pool curve --by cover < /tmp/aggregates.jsonl
--
-- A row counts once, however often it came, and a part only if all its rows are here. A line that was cut short reads as a
-- row of nothing, and so its part lacks a row. Whether a row is as it was published (its crc) only `struck pool` can tell; a
-- file as a whole is checked by the SHA-256 in its nursery's manifest. Other groups: change what stands in `by` twice.

CREATE OR REPLACE TEMP TABLE line AS
SELECT *
FROM read_json(
    getvariable('src'),
    format = 'newline_delimited',
    ignore_errors = true,
    hive_partitioning = false,
    columns = {
        "row": 'VARCHAR', nursery: 'VARCHAR', season: 'INTEGER', batch: 'INTEGER', replicate: 'INTEGER',
        taxon: 'VARCHAR', wood: 'VARCHAR', week: 'VARCHAR', cover: 'VARCHAR', hormone: 'VARCHAR', medium: 'VARCHAR', cut: 'VARCHAR', piece: 'VARCHAR',
        stuck: 'INTEGER', lost: 'INTEGER', closed: 'BOOLEAN', age: 'INTEGER', guesses: 'INTEGER', sampled: 'INTEGER', unexplained: 'INTEGER',
        callus: 'STRUCT(examined BOOLEAN, reached DOUBLE, counted DOUBLE, watched DOUBLE, at_sticking BOOLEAN, backwards BOOLEAN)',
        root: 'STRUCT(examined BOOLEAN, reached DOUBLE, counted DOUBLE, watched DOUBLE, at_sticking BOOLEAN, backwards BOOLEAN)',
        bottom: 'STRUCT(examined BOOLEAN, reached DOUBLE, counted DOUBLE, watched DOUBLE, at_sticking BOOLEAN, backwards BOOLEAN)',
        milestone: 'VARCHAR', "left": 'INTEGER', "right": 'INTEGER', status: 'VARCHAR', weight: 'DOUBLE',
        alias: 'VARCHAR', part: 'VARCHAR', "at": 'INTEGER', "of": 'INTEGER', crc: 'VARCHAR'
    }
)
WHERE crc IS NOT NULL;

CREATE OR REPLACE TEMP TABLE distinct_row AS
SELECT * FROM line QUALIFY row_number() OVER (PARTITION BY part, "at") = 1;

-- What is told beside the figures.
CREATE OR REPLACE TEMP TABLE uncounted AS
SELECT any_value(nursery) AS nursery, any_value(season) AS season, part, count(*) AS "rows", any_value("of") AS "of"
FROM distinct_row GROUP BY part HAVING count(*) <> any_value("of") ORDER BY ALL;

CREATE OR REPLACE TEMP TABLE repeated AS
SELECT part, count(*) - count(DISTINCT "at") AS repeated
FROM line GROUP BY part HAVING count(*) <> count(DISTINCT "at") ORDER BY part;

CREATE OR REPLACE TEMP TABLE counted AS
SELECT *, {'cover': cover} AS "by" FROM distinct_row WHERE part NOT IN (SELECT part FROM uncounted);

CREATE OR REPLACE TEMP TABLE of_batches AS
SELECT
    nursery, season, part, taxon, wood, "by",
    list(struct_pack(
        batch := batch, replicate := replicate, stuck := stuck, lost := lost, closed := closed, age := age, guesses := guesses,
        sampled := sampled, unexplained := unexplained, callus := callus, root := root, bottom := bottom
    ) ORDER BY "at") AS batches
FROM counted WHERE "row" = 'batch' GROUP BY ALL;

CREATE OR REPLACE TEMP TABLE of_intervals AS
SELECT
    part, taxon, wood, "by",
    list(struct_pack(
        batch := batch, milestone := milestone, "left" := "left", "right" := "right", status := status, weight := weight
    ) ORDER BY "at") AS intervals
FROM counted WHERE "row" = 'interval' GROUP BY ALL;

CREATE OR REPLACE TEMP TABLE of_aliases AS
SELECT part, taxon, list(alias ORDER BY "at") AS aliases FROM counted WHERE "row" = 'alias' GROUP BY ALL;

CREATE OR REPLACE TEMP TABLE aggregate AS
SELECT
    1 AS aggregate, b.nursery, b.season, b.part,
    row_number() OVER (PARTITION BY b.part ORDER BY b.taxon, b.wood NULLS FIRST, b."by") AS "group",
    count(*) OVER (PARTITION BY b.part) AS groups,
    b.taxon, b.wood, b."by",
    coalesce(a.aliases, []) AS aliases, b.batches, coalesce(i.intervals, []) AS intervals
FROM of_batches b
LEFT JOIN of_intervals i ON i.part = b.part AND i.taxon = b.taxon AND i.wood IS NOT DISTINCT FROM b.wood AND i."by" IS NOT DISTINCT FROM b."by"
LEFT JOIN of_aliases a ON a.part = b.part AND a.taxon = b.taxon;
