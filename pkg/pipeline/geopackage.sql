-- The tables of a GeoPackage 1.3 (OGC 12-128r18) that a report is written into, and their styles (SLD, OGC 02-070).
PRAGMA application_id = 1196444487; PRAGMA user_version = 10300;
CREATE TABLE gpkg_spatial_ref_sys (srs_name TEXT NOT NULL, srs_id INTEGER PRIMARY KEY, organization TEXT NOT NULL,
  organization_coordsys_id INTEGER NOT NULL, definition TEXT NOT NULL, description TEXT);
INSERT INTO gpkg_spatial_ref_sys VALUES ('Undefined Cartesian', -1, 'NONE', -1, 'undefined', NULL),
  ('Undefined geographic', 0, 'NONE', 0, 'undefined', NULL), ('WGS 84', 4326, 'EPSG', 4326,
  'GEOGCS["WGS 84",DATUM["WGS_1984",SPHEROID["WGS 84",6378137,298.257223563]],PRIMEM["Greenwich",0],UNIT["degree",0.0174532925199433],AUTHORITY["EPSG","4326"]]',
  'longitude and latitude in degrees');
CREATE TABLE gpkg_contents (table_name TEXT NOT NULL PRIMARY KEY, data_type TEXT NOT NULL, identifier TEXT UNIQUE,
  description TEXT DEFAULT '', last_change DATETIME NOT NULL, min_x DOUBLE, min_y DOUBLE, max_x DOUBLE, max_y DOUBLE,
  srs_id INTEGER, FOREIGN KEY (srs_id) REFERENCES gpkg_spatial_ref_sys(srs_id));
CREATE TABLE gpkg_geometry_columns (table_name TEXT NOT NULL UNIQUE, column_name TEXT NOT NULL,
  geometry_type_name TEXT NOT NULL, srs_id INTEGER NOT NULL, z TINYINT NOT NULL, m TINYINT NOT NULL,
  PRIMARY KEY (table_name, column_name), FOREIGN KEY (table_name) REFERENCES gpkg_contents(table_name));
CREATE TABLE layer_styles (id INTEGER PRIMARY KEY AUTOINCREMENT, f_table_catalog TEXT, f_table_schema TEXT,
  f_table_name TEXT, f_geometry_column TEXT, styleName TEXT, styleQML TEXT, styleSLD TEXT, useAsDefault BOOLEAN,
  description TEXT, owner TEXT, ui TEXT, update_time DATETIME);
INSERT INTO gpkg_contents (table_name, data_type, identifier, last_change) VALUES ('layer_styles', 'attributes',
  'layer_styles', '2000-01-01T00:00:00.000Z');

CREATE TABLE finds (fid INTEGER PRIMARY KEY AUTOINCREMENT, geom POINT,
  "id" TEXT, "number" TEXT, "name" TEXT, "count" TEXT, "first_day" DATE, "last_day" DATE, "day_words" TEXT, "finder" TEXT, "handle" TEXT, "field" TEXT, "depth" TEXT, "depth_min" REAL, "depth_max" REAL, "material" TEXT, "mat_code" TEXT, "weight" TEXT, "weight_g" REAL, "dating" TEXT, "from_year" INTEGER, "to_year" INTEGER, "uncert_m" REAL, "notes" TEXT, record TEXT);
INSERT INTO gpkg_contents (table_name, data_type, identifier, last_change, srs_id)
  VALUES ('finds', 'features', 'finds', '2000-01-01T00:00:00.000Z', 4326);
INSERT INTO gpkg_geometry_columns VALUES ('finds', 'geom', 'POINT', 4326, 0, 0);
INSERT INTO layer_styles (f_table_catalog, f_table_schema, f_table_name, f_geometry_column, styleName, styleQML, styleSLD,
  useAsDefault, description, owner, update_time) VALUES ('', '', 'finds', 'geom', 'findslip', '',
  '<StyledLayerDescriptor version="1.0.0" xmlns="http://www.opengis.net/sld"><NamedLayer><Name>finds</Name><UserStyle><FeatureTypeStyle><Rule><PointSymbolizer><Graphic><Mark><WellKnownName>circle</WellKnownName><Fill><CssParameter name="fill">#b03a2e</CssParameter></Fill></Mark><Size>8</Size></Graphic></PointSymbolizer></Rule></FeatureTypeStyle></UserStyle></NamedLayer></StyledLayerDescriptor>',
  1, '', '', '2000-01-01T00:00:00.000Z');

CREATE TABLE permissions (fid INTEGER PRIMARY KEY AUTOINCREMENT, geom MULTIPOLYGON,
  "id" TEXT, "name" TEXT, "basis" TEXT, "from_day" DATE, "to_day" DATE, record TEXT);
INSERT INTO gpkg_contents (table_name, data_type, identifier, last_change, srs_id)
  VALUES ('permissions', 'features', 'permissions', '2000-01-01T00:00:00.000Z', 4326);
INSERT INTO gpkg_geometry_columns VALUES ('permissions', 'geom', 'MULTIPOLYGON', 4326, 0, 0);
INSERT INTO layer_styles (f_table_catalog, f_table_schema, f_table_name, f_geometry_column, styleName, styleQML, styleSLD,
  useAsDefault, description, owner, update_time) VALUES ('', '', 'permissions', 'geom', 'findslip', '',
  '<StyledLayerDescriptor version="1.0.0" xmlns="http://www.opengis.net/sld"><NamedLayer><Name>permissions</Name><UserStyle><FeatureTypeStyle><Rule><PolygonSymbolizer><Stroke><CssParameter name="stroke">#1e8449</CssParameter></Stroke></PolygonSymbolizer></Rule></FeatureTypeStyle></UserStyle></NamedLayer></StyledLayerDescriptor>',
  1, '', '', '2000-01-01T00:00:00.000Z');

CREATE TABLE excluded (fid INTEGER PRIMARY KEY AUTOINCREMENT, geom MULTIPOLYGON,
  "permission" TEXT, "name" TEXT, record TEXT);
INSERT INTO gpkg_contents (table_name, data_type, identifier, last_change, srs_id)
  VALUES ('excluded', 'features', 'excluded', '2000-01-01T00:00:00.000Z', 4326);
INSERT INTO gpkg_geometry_columns VALUES ('excluded', 'geom', 'MULTIPOLYGON', 4326, 0, 0);
INSERT INTO layer_styles (f_table_catalog, f_table_schema, f_table_name, f_geometry_column, styleName, styleQML, styleSLD,
  useAsDefault, description, owner, update_time) VALUES ('', '', 'excluded', 'geom', 'findslip', '',
  '<StyledLayerDescriptor version="1.0.0" xmlns="http://www.opengis.net/sld"><NamedLayer><Name>excluded</Name><UserStyle><FeatureTypeStyle><Rule><PolygonSymbolizer><Stroke><CssParameter name="stroke">#7d3c98</CssParameter></Stroke></PolygonSymbolizer></Rule></FeatureTypeStyle></UserStyle></NamedLayer></StyledLayerDescriptor>',
  1, '', '', '2000-01-01T00:00:00.000Z');

CREATE TABLE report (fid INTEGER PRIMARY KEY AUTOINCREMENT, record TEXT);
INSERT INTO gpkg_contents (table_name, data_type, identifier, last_change)
  VALUES ('report', 'attributes', 'report', '2000-01-01T00:00:00.000Z');
