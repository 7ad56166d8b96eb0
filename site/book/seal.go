package book

import (
	"bytes"
	"crypto/sha256"
	"database/sql"
	"encoding/binary"
	"fmt"
	"hash"
	"math"
	"slices"
	"strings"
)

// A seal is the SHA-256 of what a table holds. Seals are set when a book is closed
// and broken by the first write after, so that a change by damage, or by another
// program, shows. The heavy columns have sums of their own: the originals their
// SHA-256, packed fixes the checksum of zlib, and the lines drawn of them consist
// of fixes.
var unsealed = map[string][]string{"files": {"data"}, "untrod_fixes": {"packed"}, "tracks": {"geom"}}

// schemaSeal is the name of the seal on the tables' own definitions.
const schemaSeal = "sqlite_schema"

// seal states the extent of each layer, and seals the tables.
func (b *Book) seal() error {
	return b.write(func(tx *sql.Tx) error {
		layers, err := queryAll[string](tx, `SELECT table_name FROM gpkg_geometry_columns`)
		if err != nil {
			return err
		}
		for _, l := range layers {
			if _, err := tx.Exec(fmt.Sprintf(`UPDATE gpkg_contents SET last_change = strftime('%%Y-%%m-%%dT%%H:%%M:%%fZ','now'),
  (min_x, max_x, min_y, max_y) = (SELECT min(minx), max(maxx), min(miny), max(maxy) FROM "rtree_%s_geom")
WHERE table_name = '%s'`, l, l)); err != nil {
				return err
			}
		}
		sums, err := sumTables(tx)
		for name, sum := range sums {
			if _, err := tx.Exec(`INSERT OR REPLACE INTO untrod_seals VALUES (?, ?)`, name, sum); err != nil {
				return err
			}
		}
		return err
	})
}

// breakSeals takes the seals off; a book before version 2 has none.
func (b *Book) breakSeals() error {
	var have int
	err := b.db.QueryRow(`SELECT count(*) FROM sqlite_schema WHERE name = 'untrod_seals'`).Scan(&have)
	if err == nil && have > 0 {
		_, err = b.db.Exec(`DELETE FROM untrod_seals`)
	}
	return err
}

// brokenSeals names the sealed tables that hold something else than when sealed.
func brokenSeals(tx *sql.Tx) ([]string, error) {
	names, err := queryAll[string](tx, `SELECT name FROM untrod_seals ORDER BY name`)
	if err != nil || len(names) == 0 {
		return nil, err
	}
	now, err := sumTables(tx)
	if err != nil {
		return nil, err
	}
	var out []string
	for _, name := range names {
		sum, err := queryAll[[]byte](tx, `SELECT sum FROM untrod_seals WHERE name = ?`, name)
		if err != nil {
			return nil, err
		}
		if len(sum) != 1 || !bytes.Equal(sum[0], now[name]) {
			out = append(out, name)
		}
	}
	for name := range now {
		if !slices.Contains(names, name) {
			out = append(out, name)
		}
	}
	return out, nil
}

func sumTables(tx *sql.Tx) (map[string][]byte, error) {
	tables, err := queryAll[string](tx, `SELECT name FROM pragma_table_list
WHERE schema = 'main' AND type = 'table' AND name NOT IN ('untrod_seals', 'sqlite_schema')`)
	if err != nil {
		return nil, err
	}
	sums := map[string][]byte{}
	for _, t := range tables {
		columns, err := queryAll[string](tx, `SELECT name FROM pragma_table_info(?)`, t)
		if err != nil {
			return nil, err
		}
		columns = slices.DeleteFunc(columns, func(c string) bool { return slices.Contains(unsealed[t], c) })
		// The sign keeps the driver from making times of texts.
		query := fmt.Sprintf(`SELECT rowid, +"%s" FROM "%s" ORDER BY rowid`, strings.Join(columns, `", +"`), t)
		if sums[t], err = sumRows(tx, query, len(columns)+1); err != nil {
			return nil, err
		}
	}
	sums[schemaSeal], err = sumRows(tx, `SELECT type, name, tbl_name, sql FROM sqlite_schema ORDER BY rowid`, 4)
	return sums, err
}

func sumRows(tx *sql.Tx, query string, columns int) ([]byte, error) {
	rows, err := tx.Query(query)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	sum := sha256.New()
	row, into := make([]any, columns), make([]any, columns)
	for i := range row {
		into[i] = &row[i]
	}
	for rows.Next() {
		if err := rows.Scan(into...); err != nil {
			return nil, err
		}
		for _, v := range row {
			sumValue(sum, v)
		}
	}
	return sum.Sum(nil), rows.Err()
}

// sumValue adds a value with its type and length.
func sumValue(sum hash.Hash, v any) {
	var head [9]byte
	var bytes []byte
	switch v := v.(type) {
	case int64:
		head[0] = 'i'
		binary.LittleEndian.PutUint64(head[1:], uint64(v))
	case float64:
		head[0] = 'f'
		binary.LittleEndian.PutUint64(head[1:], math.Float64bits(v))
	case string:
		head[0], bytes = 't', []byte(v)
		binary.LittleEndian.PutUint64(head[1:], uint64(len(v)))
	case []byte:
		head[0], bytes = 'b', v
		binary.LittleEndian.PutUint64(head[1:], uint64(len(v)))
	}
	sum.Write(head[:])
	sum.Write(bytes)
}
