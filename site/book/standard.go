package book

import (
	"database/sql"
	"database/sql/driver"
	"fmt"
	"strings"

	"modernc.org/sqlite"
)

// What the standard (OGC 12-128r17, GeoPackage 1.3) asks of the file's header.
const (
	applicationID = 0x47504B47 // "GPKG"
	userVersion   = 10300      // 1.3.0
	wgs84         = 4326
)

// standardTables are those of the standard's annex C.
const standardTables = `
CREATE TABLE gpkg_spatial_ref_sys (
  srs_name TEXT NOT NULL,
  srs_id INTEGER NOT NULL PRIMARY KEY,
  organization TEXT NOT NULL,
  organization_coordsys_id INTEGER NOT NULL,
  definition TEXT NOT NULL,
  description TEXT
);
INSERT INTO gpkg_spatial_ref_sys VALUES
  ('Undefined Cartesian SRS', -1, 'NONE', -1, 'undefined', 'undefined Cartesian coordinate reference system'),
  ('Undefined geographic SRS', 0, 'NONE', 0, 'undefined', 'undefined geographic coordinate reference system'),
  ('WGS 84 geodetic', 4326, 'EPSG', 4326, 'GEOGCS["WGS 84",DATUM["WGS_1984",SPHEROID["WGS 84",6378137,298.257223563,AUTHORITY["EPSG","7030"]],AUTHORITY["EPSG","6326"]],PRIMEM["Greenwich",0,AUTHORITY["EPSG","8901"]],UNIT["degree",0.0174532925199433,AUTHORITY["EPSG","9122"]],AUTHORITY["EPSG","4326"]]', 'longitude, latitude in degrees on WGS 84');
CREATE TABLE gpkg_contents (
  table_name TEXT NOT NULL PRIMARY KEY,
  data_type TEXT NOT NULL,
  identifier TEXT UNIQUE,
  description TEXT DEFAULT '',
  last_change DATETIME NOT NULL DEFAULT (strftime('%Y-%m-%dT%H:%M:%fZ','now')),
  min_x DOUBLE,
  min_y DOUBLE,
  max_x DOUBLE,
  max_y DOUBLE,
  srs_id INTEGER,
  CONSTRAINT fk_gc_r_srs_id FOREIGN KEY (srs_id) REFERENCES gpkg_spatial_ref_sys(srs_id)
);
CREATE TABLE gpkg_geometry_columns (
  table_name TEXT NOT NULL,
  column_name TEXT NOT NULL,
  geometry_type_name TEXT NOT NULL,
  srs_id INTEGER NOT NULL,
  z TINYINT NOT NULL,
  m TINYINT NOT NULL,
  CONSTRAINT pk_geom_cols PRIMARY KEY (table_name, column_name),
  CONSTRAINT uk_gc_table_name UNIQUE (table_name),
  CONSTRAINT fk_gc_tn FOREIGN KEY (table_name) REFERENCES gpkg_contents(table_name),
  CONSTRAINT fk_gc_srs FOREIGN KEY (srs_id) REFERENCES gpkg_spatial_ref_sys (srs_id)
);
CREATE TABLE gpkg_extensions (
  table_name TEXT,
  column_name TEXT,
  extension_name TEXT NOT NULL,
  definition TEXT NOT NULL,
  scope TEXT NOT NULL,
  CONSTRAINT ge_tce UNIQUE (table_name, column_name, extension_name)
);`

// layerIndex is the R*Tree index of a layer and its triggers, from the
// standard's annex F.3 (1.3.0). @ stands for the layer.
const layerIndex = `
CREATE VIRTUAL TABLE "rtree_@_geom" USING rtree(id, minx, maxx, miny, maxy);
CREATE TRIGGER "rtree_@_geom_insert" AFTER INSERT ON "@"
  WHEN (new."geom" NOT NULL AND NOT ST_IsEmpty(NEW."geom"))
BEGIN
  INSERT OR REPLACE INTO "rtree_@_geom" VALUES (
    NEW."fid",
    ST_MinX(NEW."geom"), ST_MaxX(NEW."geom"),
    ST_MinY(NEW."geom"), ST_MaxY(NEW."geom")
  );
END;
CREATE TRIGGER "rtree_@_geom_update1" AFTER UPDATE OF "geom" ON "@"
  WHEN OLD."fid" = NEW."fid" AND
       (NEW."geom" NOTNULL AND NOT ST_IsEmpty(NEW."geom"))
BEGIN
  INSERT OR REPLACE INTO "rtree_@_geom" VALUES (
    NEW."fid",
    ST_MinX(NEW."geom"), ST_MaxX(NEW."geom"),
    ST_MinY(NEW."geom"), ST_MaxY(NEW."geom")
  );
END;
CREATE TRIGGER "rtree_@_geom_update2" AFTER UPDATE OF "geom" ON "@"
  WHEN OLD."fid" = NEW."fid" AND
       (NEW."geom" ISNULL OR ST_IsEmpty(NEW."geom"))
BEGIN
  DELETE FROM "rtree_@_geom" WHERE id = OLD."fid";
END;
CREATE TRIGGER "rtree_@_geom_update3" AFTER UPDATE ON "@"
  WHEN OLD."fid" != NEW."fid" AND
       (NEW."geom" NOTNULL AND NOT ST_IsEmpty(NEW."geom"))
BEGIN
  DELETE FROM "rtree_@_geom" WHERE id = OLD."fid";
  INSERT OR REPLACE INTO "rtree_@_geom" VALUES (
    NEW."fid",
    ST_MinX(NEW."geom"), ST_MaxX(NEW."geom"),
    ST_MinY(NEW."geom"), ST_MaxY(NEW."geom")
  );
END;
CREATE TRIGGER "rtree_@_geom_update4" AFTER UPDATE ON "@"
  WHEN OLD."fid" != NEW."fid" AND
       (NEW."geom" ISNULL OR ST_IsEmpty(NEW."geom"))
BEGIN
  DELETE FROM "rtree_@_geom" WHERE id IN (OLD."fid", NEW."fid");
END;
CREATE TRIGGER "rtree_@_geom_delete" AFTER DELETE ON "@"
  WHEN old."geom" NOT NULL
BEGIN
  DELETE FROM "rtree_@_geom" WHERE id = OLD."fid";
END;`

// addLayer makes a layer of the given type of geometry, known and indexed by the
// standard's rules.
func addLayer(tx *sql.Tx, name, geometry, columns string) error {
	if err := addTable(tx, name, "features", "geom "+geometry+",\n  "+columns); err != nil {
		return err
	}
	for _, q := range []string{
		`INSERT INTO gpkg_geometry_columns VALUES ('@', 'geom', '` + geometry + `', 4326, 0, 0)`,
		`INSERT INTO gpkg_extensions VALUES ('@', 'geom', 'gpkg_rtree_index', 'http://www.geopackage.org/spec130/#extension_rtree', 'write-only')`,
		layerIndex,
	} {
		if _, err := tx.Exec(strings.ReplaceAll(q, "@", name)); err != nil {
			return fmt.Errorf("layer %s: %w", name, err)
		}
	}
	return nil
}

// addTable makes a table that GIS programs list: data type features or attributes.
func addTable(tx *sql.Tx, name, dataType, columns string) error {
	srs := any(nil)
	if dataType == "features" {
		srs = wgs84
	}
	_, err := tx.Exec(fmt.Sprintf("CREATE TABLE %q (\n  fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,\n  %s\n)", name, columns))
	if err == nil {
		_, err = tx.Exec(`INSERT INTO gpkg_contents (table_name, data_type, identifier, srs_id) VALUES (?, ?, ?, ?)`, name, dataType, name, srs)
	}
	if err != nil {
		return fmt.Errorf("table %s: %w", name, err)
	}
	return nil
}

// The functions that the index triggers call, annex F.3 of the standard.
func init() {
	corner := func(i int) func(*sqlite.FunctionContext, []driver.Value) (driver.Value, error) {
		return func(_ *sqlite.FunctionContext, args []driver.Value) (driver.Value, error) {
			blob, _ := args[0].([]byte)
			if blob == nil {
				return nil, nil
			}
			b, ok, err := boundsOf(blob)
			if !ok {
				return nil, err
			}
			return b[i], nil
		}
	}
	for i, name := range []string{"ST_MinX", "ST_MaxX", "ST_MinY", "ST_MaxY"} {
		sqlite.MustRegisterDeterministicScalarFunction(name, 1, corner(i))
	}
	sqlite.MustRegisterDeterministicScalarFunction("ST_IsEmpty", 1, func(_ *sqlite.FunctionContext, args []driver.Value) (driver.Value, error) {
		blob, _ := args[0].([]byte)
		if blob == nil {
			return nil, nil
		}
		_, ok, err := boundsOf(blob)
		if ok {
			return int64(0), err
		}
		return int64(1), err
	})
}
