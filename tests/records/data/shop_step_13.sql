BEGIN TRANSACTION;
CREATE TABLE amounts (
	position INTEGER NOT NULL, 
	amount INTEGER NOT NULL, 
	assembly TEXT NOT NULL, 
	stage TEXT NOT NULL, 
	joint TEXT NOT NULL, 
	part TEXT NOT NULL, 
	way TEXT NOT NULL, 
	count INTEGER, 
	length REAL, 
	diameter REAL, 
	thread TEXT NOT NULL, 
	quantity INTEGER, 
	unit TEXT NOT NULL, 
	share REAL, 
	source TEXT NOT NULL, 
	note TEXT NOT NULL, 
	PRIMARY KEY (position), 
	UNIQUE (amount)
)
 STRICT

;
CREATE TABLE belts (
	position INTEGER NOT NULL, 
	part TEXT NOT NULL, 
	length REAL, 
	ribs INTEGER, 
	note TEXT NOT NULL, 
	PRIMARY KEY (position), 
	UNIQUE (part)
)
 STRICT

;
CREATE TABLE builds (
	position INTEGER NOT NULL, 
	build TEXT NOT NULL, 
	assembly TEXT NOT NULL, 
	options TEXT NOT NULL, 
	start TEXT, 
	priority INTEGER NOT NULL, 
	customer TEXT NOT NULL, 
	use TEXT NOT NULL, 
	finished TEXT, 
	note TEXT NOT NULL, 
	PRIMARY KEY (position), 
	CHECK (length("start") = 10), 
	CHECK (length("finished") = 10), 
	UNIQUE (build)
)
 STRICT

;
INSERT INTO "builds" VALUES(1,'E-1','engine','','2026-04-01',1,'','',NULL,'');
INSERT INTO "builds" VALUES(2,'E-2','engine','',NULL,5,'','',NULL,'');
CREATE TABLE carriers (
	position INTEGER NOT NULL, 
	carrier TEXT NOT NULL, 
	calendar TEXT NOT NULL, 
	days INTEGER, 
	no_hazard INTEGER NOT NULL, 
	note TEXT NOT NULL, 
	PRIMARY KEY (position), 
	CHECK ("no_hazard" IN (0, 1)), 
	UNIQUE (carrier)
)
 STRICT

;
INSERT INTO "carriers" VALUES(1,'größer','größer',NULL,1,'größer');
CREATE TABLE circuits (
	position INTEGER NOT NULL, 
	assembly TEXT NOT NULL, 
	circuit TEXT NOT NULL, 
	stage TEXT NOT NULL, 
	part TEXT NOT NULL, 
	quantity INTEGER, 
	unit TEXT NOT NULL, 
	fills INTEGER, 
	filter TEXT NOT NULL, 
	bleed TEXT NOT NULL, 
	grade TEXT NOT NULL, 
	source TEXT NOT NULL, 
	PRIMARY KEY (position), 
	UNIQUE (assembly, circuit)
)
 STRICT

;
CREATE TABLE claims (
	position INTEGER NOT NULL, 
	claim TEXT NOT NULL, 
	day TEXT, 
	event TEXT NOT NULL, 
	what TEXT NOT NULL, 
	"order" TEXT NOT NULL, 
	line INTEGER NOT NULL, 
	part TEXT NOT NULL, 
	quantity INTEGER NOT NULL, 
	unit TEXT NOT NULL, 
	next TEXT NOT NULL, 
	due TEXT, 
	note TEXT NOT NULL, 
	"by" TEXT NOT NULL, 
	made_at TEXT NOT NULL, 
	move INTEGER, 
	PRIMARY KEY (position), 
	CHECK (length("day") = 10), 
	CHECK (length("due") = 10), 
	CHECK (quantity > 0), 
	FOREIGN KEY(move) REFERENCES moves (move)
)
 STRICT

;
CREATE TABLE closures (
	position INTEGER NOT NULL, 
	calendar TEXT NOT NULL, 
	day TEXT, 
	note TEXT NOT NULL, 
	PRIMARY KEY (position), 
	CHECK (length("day") = 10), 
	UNIQUE (calendar, day)
)
 STRICT

;
CREATE TABLE counts (
	position INTEGER NOT NULL, 
	count INTEGER NOT NULL, 
	day TEXT, 
	part TEXT NOT NULL, 
	lot TEXT NOT NULL, 
	place TEXT NOT NULL, 
	held_for TEXT NOT NULL, 
	owner TEXT NOT NULL, 
	"before" INTEGER NOT NULL, 
	"after" INTEGER NOT NULL, 
	"by" TEXT NOT NULL, 
	made_at TEXT NOT NULL, 
	PRIMARY KEY (position), 
	CHECK (length("day") = 10), 
	UNIQUE (count)
)
 STRICT

;
INSERT INTO "counts" VALUES(1,1,'2026-03-09','größer','größer','größer','größer','größer',1,1,'größer','größer');
CREATE TABLE dates (
	position INTEGER NOT NULL, 
	build TEXT NOT NULL, 
	assembly TEXT NOT NULL, 
	stage TEXT NOT NULL, 
	not_before TEXT, 
	not_after TEXT, 
	note TEXT NOT NULL, 
	PRIMARY KEY (position), 
	CHECK (length("not_before") = 10), 
	CHECK (length("not_after") = 10), 
	UNIQUE (build, assembly, stage)
)
 STRICT

;
CREATE TABLE figures (
	position INTEGER NOT NULL, 
	assembly TEXT NOT NULL, 
	joint TEXT NOT NULL, 
	what TEXT NOT NULL, 
	thread TEXT NOT NULL, 
	class TEXT NOT NULL, 
	value REAL, 
	unit TEXT NOT NULL, 
	source TEXT NOT NULL, 
	page TEXT NOT NULL, 
	note TEXT NOT NULL, 
	PRIMARY KEY (position), 
	UNIQUE (assembly, joint, what, thread)
)
 STRICT

;
CREATE TABLE fluids (
	position INTEGER NOT NULL, 
	part TEXT NOT NULL, 
	kind TEXT NOT NULL, 
	grade TEXT NOT NULL, 
	base TEXT NOT NULL, 
	viscosity_40 REAL, 
	viscosity_100 REAL, 
	zinc_ppm INTEGER, 
	phosphorus_ppm INTEGER, 
	spec TEXT NOT NULL, 
	source TEXT NOT NULL, 
	note TEXT NOT NULL, 
	PRIMARY KEY (position), 
	UNIQUE (part)
)
 STRICT

;
CREATE TABLE forgotten (
	position INTEGER NOT NULL, 
	entry INTEGER NOT NULL, 
	build TEXT NOT NULL, 
	stage TEXT NOT NULL, 
	joint TEXT NOT NULL, 
	role TEXT NOT NULL, 
	part TEXT NOT NULL, 
	quantity INTEGER NOT NULL, 
	unit TEXT NOT NULL, 
	cause TEXT NOT NULL, 
	noted TEXT, 
	hours_lost REAL, 
	money_lost INTEGER NOT NULL, 
	note TEXT NOT NULL, 
	PRIMARY KEY (position), 
	CHECK (length("noted") = 10), 
	UNIQUE (entry)
)
 STRICT

;
CREATE TABLE invoices (
	position INTEGER NOT NULL, 
	invoice TEXT NOT NULL, 
	"order" TEXT NOT NULL, 
	line INTEGER, 
	part TEXT NOT NULL, 
	quantity INTEGER NOT NULL, 
	unit TEXT NOT NULL, 
	amount INTEGER NOT NULL, 
	dated TEXT, 
	note TEXT NOT NULL, 
	PRIMARY KEY (position), 
	CHECK (length("dated") = 10), 
	UNIQUE (invoice, "order", part, line)
)
 STRICT

;
INSERT INTO "invoices" VALUES(1,'größer','größer',NULL,'größer',1,'größer',1,'2026-03-09','größer');
CREATE TABLE joints (
	position INTEGER NOT NULL, 
	assembly TEXT NOT NULL, 
	stage TEXT NOT NULL, 
	joint TEXT NOT NULL, 
	kind TEXT NOT NULL, 
	joins TEXT NOT NULL, 
	count INTEGER NOT NULL, 
	disturbances INTEGER NOT NULL, 
	"when" TEXT NOT NULL, 
	PRIMARY KEY (position), 
	UNIQUE (assembly, joint)
)
 STRICT

;
CREATE TABLE kit_shorts (
	position INTEGER NOT NULL, 
	kit INTEGER NOT NULL, 
	joint TEXT NOT NULL, 
	role TEXT NOT NULL, 
	part TEXT NOT NULL, 
	quantity INTEGER NOT NULL, 
	unit TEXT NOT NULL, 
	why TEXT NOT NULL, 
	PRIMARY KEY (position), 
	UNIQUE (kit, joint, role, part)
)
 STRICT

;
CREATE TABLE kits (
	position INTEGER NOT NULL, 
	kit INTEGER NOT NULL, 
	build TEXT NOT NULL, 
	assembly TEXT NOT NULL, 
	stage TEXT NOT NULL, 
	day TEXT, 
	made_at TEXT NOT NULL, 
	"by" TEXT NOT NULL, 
	checked TEXT NOT NULL, 
	note TEXT NOT NULL, 
	PRIMARY KEY (position), 
	CHECK (length("day") = 10), 
	UNIQUE (kit)
)
 STRICT

;
CREATE TABLE lines (
	position INTEGER NOT NULL, 
	line INTEGER NOT NULL, 
	assembly TEXT NOT NULL, 
	stage TEXT NOT NULL, 
	joint TEXT NOT NULL, 
	role TEXT NOT NULL, 
	part TEXT NOT NULL, 
	quantity INTEGER NOT NULL, 
	unit TEXT NOT NULL, 
	"when" TEXT NOT NULL, 
	source TEXT NOT NULL, 
	note TEXT NOT NULL, 
	PRIMARY KEY (position), 
	UNIQUE (line)
)
 STRICT

;
INSERT INTO "lines" VALUES(1,1,'engine','bottom','','','0012',1,'','','','');
INSERT INTO "lines" VALUES(2,2,'engine','bottom','','','1E5',2,'','','','');
CREATE TABLE measured (
	position INTEGER NOT NULL, 
	assembly TEXT NOT NULL, 
	stage TEXT NOT NULL, 
	joint TEXT NOT NULL, 
	parts TEXT NOT NULL, 
	family TEXT NOT NULL, 
	sizes TEXT NOT NULL, 
	middle REAL, 
	spread REAL, 
	note TEXT NOT NULL, 
	PRIMARY KEY (position), 
	UNIQUE (assembly, joint, parts, family)
)
 STRICT

;
CREATE TABLE moves (
	move INTEGER NOT NULL, 
	day TEXT, 
	made_at TEXT NOT NULL, 
	part TEXT NOT NULL, 
	lot TEXT NOT NULL, 
	from_place TEXT NOT NULL, 
	to_place TEXT NOT NULL, 
	quantity INTEGER NOT NULL, 
	unit TEXT NOT NULL, 
	use_by TEXT, 
	opened TEXT, 
	held_for TEXT NOT NULL, 
	reason TEXT NOT NULL, 
	"order" TEXT NOT NULL, 
	line INTEGER, 
	build TEXT NOT NULL, 
	"by" TEXT NOT NULL, 
	reverses INTEGER, owner TEXT NOT NULL DEFAULT '', checked TEXT NOT NULL DEFAULT '', 
	PRIMARY KEY (move), 
	CHECK (length("day") = 10), 
	CHECK (length("use_by") = 10), 
	CHECK (length("opened") = 10), 
	CHECK (quantity > 0), 
	CHECK (from_place <> to_place), 
	CHECK (day IS NOT NULL), 
	FOREIGN KEY(reverses) REFERENCES moves (move), 
	UNIQUE (reverses)
)
 STRICT

;
INSERT INTO "moves" VALUES(1,'2026-03-09','2026-11-27T04:00:10.646809+00:00','0012','','outside: count','A1',3,'piece',NULL,NULL,'','counted: sheet stock','',NULL,'','',NULL,'','');
INSERT INTO "moves" VALUES(2,'2026-03-09','2026-11-27T04:00:10.646809+00:00','OIL','L7','outside: count','F2',5000000,'l','2027-01-01','2026-02-02','','counted: sheet stock','',NULL,'','',NULL,'','');
CREATE TABLE numbers (
	name TEXT NOT NULL, 
	last INTEGER NOT NULL, 
	PRIMARY KEY (name)
)
 STRICT

;
CREATE TABLE offers (
	position INTEGER NOT NULL, 
	offer INTEGER NOT NULL, 
	supplier TEXT NOT NULL, 
	part TEXT NOT NULL, 
	supplier_part TEXT NOT NULL, 
	pack INTEGER NOT NULL, 
	unit TEXT NOT NULL, 
	least_packs INTEGER NOT NULL, 
	from_packs INTEGER NOT NULL, 
	price INTEGER, 
	per INTEGER NOT NULL, 
	lead_days INTEGER, 
	valid_to TEXT, 
	note TEXT NOT NULL, gtin TEXT NOT NULL DEFAULT '', carrier TEXT NOT NULL DEFAULT '', core_deposit INTEGER NOT NULL DEFAULT 0, core_days INTEGER DEFAULT NULL, 
	PRIMARY KEY (position), 
	CHECK (length("valid_to") = 10), 
	UNIQUE (offer)
)
 STRICT

;
INSERT INTO "offers" VALUES(1,7,'town','1E5','T-1',10,'',1,1,420,10,3,'2026-12-31','größer','6291041500213','',0,NULL);
INSERT INTO "offers" VALUES(2,3,'town','0012','',1,'',1,1,NULL,1,NULL,NULL,'','','',0,NULL);
CREATE TABLE on_hand (
	position INTEGER NOT NULL, 
	part TEXT NOT NULL, 
	lot TEXT NOT NULL, 
	place TEXT NOT NULL, 
	held_for TEXT NOT NULL, 
	owner TEXT NOT NULL, 
	build TEXT NOT NULL, 
	quantity INTEGER NOT NULL, 
	unit TEXT NOT NULL, 
	use_by TEXT, 
	opened TEXT, 
	PRIMARY KEY (position), 
	CHECK (length("use_by") = 10), 
	CHECK (length("opened") = 10), 
	CHECK (quantity >= 0), 
	UNIQUE (part, lot, place, held_for, owner)
)
 STRICT

;
INSERT INTO "on_hand" VALUES(1,'0012','','A1','','','',3,'piece',NULL,NULL);
INSERT INTO "on_hand" VALUES(2,'OIL','L7','F2','','','',5000000,'l','2027-01-01','2026-02-02');
CREATE TABLE openings (
	position INTEGER NOT NULL, 
	assembly TEXT NOT NULL, 
	casting TEXT NOT NULL, 
	opening TEXT NOT NULL, 
	size TEXT NOT NULL, 
	opens_to TEXT NOT NULL, 
	ends_in TEXT NOT NULL, 
	count INTEGER, 
	"when" TEXT NOT NULL, 
	note TEXT NOT NULL, 
	PRIMARY KEY (position), 
	UNIQUE (assembly, casting, opening)
)
 STRICT

;
CREATE TABLE options (
	position INTEGER NOT NULL, 
	assembly TEXT NOT NULL, 
	option TEXT NOT NULL, 
	choices TEXT NOT NULL, 
	"default" TEXT NOT NULL, 
	PRIMARY KEY (position), 
	UNIQUE (assembly, option)
)
 STRICT

;
CREATE TABLE order_facts (
	position INTEGER NOT NULL, 
	day TEXT, 
	what TEXT NOT NULL, 
	"order" TEXT NOT NULL, 
	line INTEGER NOT NULL, 
	quantity INTEGER NOT NULL, 
	price INTEGER, 
	promised TEXT, 
	cancelled TEXT, 
	reason TEXT NOT NULL, 
	"by" TEXT NOT NULL, 
	made_at TEXT NOT NULL, 
	PRIMARY KEY (position), 
	CHECK (length("day") = 10), 
	CHECK (length("promised") = 10), 
	CHECK (length("cancelled") = 10)
)
 STRICT

;
INSERT INTO "order_facts" VALUES(1,'2026-03-01','sent','K0001',1,4,NULL,'2026-03-12',NULL,'','','');
INSERT INTO "order_facts" VALUES(2,'2026-03-01','sent','K0001',2,10,NULL,'2026-03-12',NULL,'','','');
INSERT INTO "order_facts" VALUES(3,'2026-03-01','sent','K0001',3,5,NULL,'2026-03-12',NULL,'','','');
CREATE TABLE orders (
	position INTEGER NOT NULL, 
	"order" TEXT NOT NULL, 
	line INTEGER NOT NULL, 
	supplier TEXT NOT NULL, 
	part TEXT NOT NULL, 
	supplier_part TEXT NOT NULL, 
	quantity INTEGER NOT NULL, 
	unit TEXT NOT NULL, 
	packs INTEGER, 
	price INTEGER, 
	ordered TEXT, 
	promised TEXT, 
	build TEXT NOT NULL, 
	cancelled TEXT, 
	note TEXT NOT NULL, requested TEXT DEFAULT NULL, first_promised TEXT DEFAULT NULL, 
	PRIMARY KEY (position), 
	CHECK (length("ordered") = 10), 
	CHECK (length("promised") = 10), 
	CHECK (length("cancelled") = 10), 
	UNIQUE ("order", line)
)
 STRICT

;
INSERT INTO "orders" VALUES(1,'K0001',1,'town','0012','',4,'piece',NULL,NULL,'2026-03-01','2026-03-12','',NULL,'',NULL,NULL);
INSERT INTO "orders" VALUES(2,'K0001',2,'town','1E5','',10,'piece',NULL,NULL,'2026-03-01','2026-03-12','E-1',NULL,'',NULL,NULL);
INSERT INTO "orders" VALUES(3,'K0001',3,'town','1E5','',5,'piece',NULL,NULL,'2026-03-01','2026-03-12','',NULL,'',NULL,NULL);
CREATE TABLE orders_seen (
	position INTEGER NOT NULL, 
	"order" TEXT NOT NULL, 
	line INTEGER NOT NULL, 
	price INTEGER, 
	promised TEXT, 
	cancelled TEXT, 
	PRIMARY KEY (position), 
	CHECK (length("promised") = 10), 
	CHECK (length("cancelled") = 10), 
	UNIQUE ("order", line)
)
 STRICT

;
INSERT INTO "orders_seen" VALUES(1,'K0001',1,NULL,'2026-03-12',NULL);
INSERT INTO "orders_seen" VALUES(2,'K0001',2,NULL,'2026-03-12',NULL);
INSERT INTO "orders_seen" VALUES(3,'K0001',3,NULL,'2026-03-12',NULL);
CREATE TABLE outwork (
	position INTEGER NOT NULL, 
	assembly TEXT NOT NULL, 
	job TEXT NOT NULL, 
	joint TEXT NOT NULL, 
	part TEXT NOT NULL, 
	quantity INTEGER, 
	fate TEXT NOT NULL, 
	note TEXT NOT NULL, 
	PRIMARY KEY (position), 
	UNIQUE (assembly, job, joint, part)
)
 STRICT

;
CREATE TABLE parts (
	position INTEGER NOT NULL, 
	part TEXT NOT NULL, 
	name TEXT NOT NULL, 
	family TEXT NOT NULL, 
	unit TEXT NOT NULL, 
	maker TEXT NOT NULL, 
	single_use TEXT NOT NULL, 
	shelf_days INTEGER, 
	open_days INTEGER, 
	hazard TEXT NOT NULL, 
	customer_supplied INTEGER NOT NULL, 
	note TEXT NOT NULL, 
	PRIMARY KEY (position), 
	CHECK ("customer_supplied" IN (0, 1)), 
	UNIQUE (part)
)
 STRICT

;
INSERT INTO "parts" VALUES(1,'0012','crank seal','lip seal','piece','','',NULL,NULL,'',0,'');
INSERT INTO "parts" VALUES(2,'1E5','gasket','','piece','','',700,NULL,'',0,'');
INSERT INTO "parts" VALUES(3,'OIL','oil','','l','','',NULL,NULL,'',0,'größer, 油, ''quote'' "two"');
CREATE TABLE proposals (
	position INTEGER NOT NULL, 
	proposal INTEGER NOT NULL, 
	day TEXT, 
	"by" TEXT NOT NULL, 
	decision TEXT NOT NULL, 
	reason TEXT NOT NULL, 
	lesson TEXT NOT NULL, 
	assembly TEXT NOT NULL, 
	stage TEXT NOT NULL, 
	joint TEXT NOT NULL, 
	role TEXT NOT NULL, 
	part TEXT NOT NULL, 
	supplier TEXT NOT NULL, 
	quantity INTEGER NOT NULL, 
	unit TEXT NOT NULL, 
	days INTEGER NOT NULL, 
	message TEXT NOT NULL, 
	evidence TEXT NOT NULL, 
	entries TEXT NOT NULL, 
	change TEXT NOT NULL, 
	PRIMARY KEY (position), 
	CHECK (length("day") = 10), 
	UNIQUE (proposal)
)
 STRICT

;
CREATE TABLE pulleys (
	position INTEGER NOT NULL, 
	assembly TEXT NOT NULL, 
	joint TEXT NOT NULL, 
	pulley TEXT NOT NULL, 
	x REAL, 
	y REAL, 
	diameter REAL, 
	turn TEXT NOT NULL, 
	"when" TEXT NOT NULL, 
	source TEXT NOT NULL, 
	PRIMARY KEY (position), 
	UNIQUE (assembly, joint, pulley, "when")
)
 STRICT

;
CREATE TABLE receipts (
	position INTEGER NOT NULL, 
	receipt TEXT NOT NULL, 
	"order" TEXT NOT NULL, 
	line INTEGER, 
	part TEXT NOT NULL, 
	quantity INTEGER NOT NULL, 
	unit TEXT NOT NULL, 
	received TEXT, 
	lot TEXT NOT NULL, 
	place TEXT NOT NULL, 
	use_by TEXT, 
	note TEXT NOT NULL, 
	move INTEGER, 
	PRIMARY KEY (position), 
	CHECK (length("received") = 10), 
	CHECK (length("use_by") = 10), 
	FOREIGN KEY(move) REFERENCES moves (move), 
	UNIQUE (receipt, "order", part, lot, place)
)
 STRICT

;
CREATE TABLE rules (
	position INTEGER NOT NULL, 
	rule INTEGER NOT NULL, 
	assembly TEXT NOT NULL, 
	"when" TEXT NOT NULL, 
	needs_part TEXT NOT NULL, 
	quantity INTEGER, 
	stage TEXT NOT NULL, 
	needs_option TEXT NOT NULL, 
	forbids TEXT NOT NULL, 
	caution TEXT NOT NULL, 
	source TEXT NOT NULL, 
	PRIMARY KEY (position), 
	UNIQUE (rule)
)
 STRICT

;
CREATE TABLE schema_steps (
	step INTEGER NOT NULL, 
	name TEXT NOT NULL, 
	done TEXT NOT NULL, 
	PRIMARY KEY (step)
)
 STRICT

;
INSERT INTO "schema_steps" VALUES(1,'sheets, ledger of moves, receipts','2026-11-27T04:00:10+00:00');
INSERT INTO "schema_steps" VALUES(2,'find the moves of a part and the receipts of an order at once','2026-11-27T04:00:10+00:00');
INSERT INTO "schema_steps" VALUES(3,'castings, circuits, outwork, amounts, fluids and figures','2026-11-27T04:00:10+00:00');
INSERT INTO "schema_steps" VALUES(4,'three-point work days, people, measured sizes, days to keep','2026-11-27T04:00:10+00:00');
INSERT INTO "schema_steps" VALUES(5,'proposals that a person decided on','2026-11-27T04:00:10+00:00');
INSERT INTO "schema_steps" VALUES(6,'pulleys and belts','2026-11-27T04:00:10+00:00');
INSERT INTO "schema_steps" VALUES(7,'kinds of supplier, requested and first promised days','2026-11-27T04:00:10+00:00');
INSERT INTO "schema_steps" VALUES(8,'what is where, whose it is, kits','2026-11-27T04:00:10+00:00');
INSERT INTO "schema_steps" VALUES(9,'offers without a price or lead time yet, trade item numbers','2026-11-27T04:00:10+00:00');
INSERT INTO "schema_steps" VALUES(10,'versions of the bill','2026-11-27T04:20:33+00:00');
INSERT INTO "schema_steps" VALUES(11,'facts of orders, claims, invoices','2026-11-27T04:20:33+00:00');
INSERT INTO "schema_steps" VALUES(12,'days on which suppliers take orders, and their clocks','2026-11-27T05:50:59+00:00');
INSERT INTO "schema_steps" VALUES(13,'carriers, days of inspection, deposits on old parts, counts that agreed too','2026-11-27T14:13:26+00:00');
CREATE TABLE sets (
	position INTEGER NOT NULL, 
	"set" TEXT NOT NULL, 
	part TEXT NOT NULL, 
	quantity INTEGER NOT NULL, 
	fits TEXT NOT NULL, 
	note TEXT NOT NULL, 
	PRIMARY KEY (position), 
	UNIQUE ("set", part, fits)
)
 STRICT

;
CREATE TABLE shop (
	position INTEGER NOT NULL, 
	setting TEXT NOT NULL, 
	value TEXT NOT NULL, 
	PRIMARY KEY (position), 
	UNIQUE (setting)
)
 STRICT

;
CREATE TABLE stages (
	position INTEGER NOT NULL, 
	assembly TEXT NOT NULL, 
	stage TEXT NOT NULL, 
	name TEXT NOT NULL, 
	"after" TEXT NOT NULL, 
	work_days REAL, 
	place TEXT NOT NULL, 
	"deferred" INTEGER NOT NULL, work_days_least REAL DEFAULT NULL, work_days_most REAL DEFAULT NULL, people INTEGER DEFAULT NULL, 
	PRIMARY KEY (position), 
	CHECK ("deferred" IN (0, 1)), 
	UNIQUE (assembly, stage)
)
 STRICT

;
INSERT INTO "stages" VALUES(1,'engine','bottom','','',1.5,'',0,0.0,0.0,NULL);
CREATE TABLE stand_ins (
	position INTEGER NOT NULL, 
	part TEXT NOT NULL, 
	stand_in TEXT NOT NULL, 
	kind TEXT NOT NULL, 
	take INTEGER NOT NULL, 
	give INTEGER NOT NULL, 
	note TEXT NOT NULL, 
	PRIMARY KEY (position), 
	UNIQUE (part, stand_in)
)
 STRICT

;
CREATE TABLE stock_seen (
	position INTEGER NOT NULL, 
	part TEXT NOT NULL, 
	lot TEXT NOT NULL, 
	place TEXT NOT NULL, 
	quantity INTEGER NOT NULL, 
	unit TEXT NOT NULL, 
	use_by TEXT, 
	opened TEXT, 
	held_for TEXT NOT NULL, 
	owner TEXT NOT NULL, 
	PRIMARY KEY (position), 
	CHECK (length("use_by") = 10), 
	CHECK (length("opened") = 10), 
	UNIQUE (part, lot, place, held_for, owner)
)
 STRICT

;
INSERT INTO "stock_seen" VALUES(1,'0012','','A1',3,'piece',NULL,NULL,'','');
INSERT INTO "stock_seen" VALUES(2,'OIL','L7','F2',5000000,'l','2027-01-01','2026-02-02','','');
CREATE TABLE stock_sheet (
	position INTEGER NOT NULL, 
	part TEXT NOT NULL, 
	lot TEXT NOT NULL, 
	place TEXT NOT NULL, 
	quantity INTEGER NOT NULL, 
	unit TEXT NOT NULL, 
	use_by TEXT, 
	opened TEXT, 
	held_for TEXT NOT NULL, 
	PRIMARY KEY (position), 
	CHECK (length("use_by") = 10), 
	CHECK (length("opened") = 10), 
	UNIQUE (part, lot, place, held_for)
)
 STRICT

;
CREATE TABLE suppliers (
	position INTEGER NOT NULL, 
	supplier TEXT NOT NULL, 
	name TEXT NOT NULL, 
	currency TEXT NOT NULL, 
	calendar TEXT NOT NULL, 
	cut_off TEXT NOT NULL, 
	freight INTEGER NOT NULL, 
	free_freight_above INTEGER, 
	least_order INTEGER NOT NULL, 
	hazard_charge INTEGER NOT NULL, 
	address TEXT NOT NULL, 
	account TEXT NOT NULL, 
	note TEXT NOT NULL, kind TEXT NOT NULL DEFAULT '', order_days TEXT NOT NULL DEFAULT '', time_zone TEXT NOT NULL DEFAULT '', carrier TEXT NOT NULL DEFAULT '', inspection_days INTEGER DEFAULT NULL, 
	PRIMARY KEY (position), 
	UNIQUE (supplier)
)
 STRICT

;
INSERT INTO "suppliers" VALUES(1,'town','','EUR','','',650,NULL,0,0,'','','','','','','',NULL);
CREATE TABLE "temporary" (
	position INTEGER NOT NULL, 
	assembly TEXT NOT NULL, 
	part TEXT NOT NULL, 
	stage TEXT NOT NULL, 
	joint TEXT NOT NULL, 
	removed_in TEXT NOT NULL, 
	note TEXT NOT NULL, 
	PRIMARY KEY (position), 
	UNIQUE (assembly, part, stage, joint)
)
 STRICT

;
CREATE TABLE used (
	position INTEGER NOT NULL, 
	entry INTEGER NOT NULL, 
	build TEXT NOT NULL, 
	stage TEXT NOT NULL, 
	joint TEXT NOT NULL, 
	role TEXT NOT NULL, 
	part TEXT NOT NULL, 
	quantity INTEGER NOT NULL, 
	unit TEXT NOT NULL, 
	note TEXT NOT NULL, 
	PRIMARY KEY (position), 
	UNIQUE (entry)
)
 STRICT

;
CREATE TABLE version_rows (
	position INTEGER NOT NULL, 
	version INTEGER NOT NULL, 
	sheet TEXT NOT NULL, 
	came INTEGER NOT NULL, 
	content TEXT NOT NULL, 
	PRIMARY KEY (position), 
	CHECK ("came" IN (0, 1))
)
 STRICT

;
INSERT INTO "version_rows" VALUES(1,1,'größer',1,'größer');
CREATE TABLE versions (
	position INTEGER NOT NULL, 
	version INTEGER NOT NULL, 
	day TEXT, 
	made_at TEXT NOT NULL, 
	"by" TEXT NOT NULL, 
	reason TEXT NOT NULL, 
	added INTEGER NOT NULL, 
	removed INTEGER NOT NULL, 
	PRIMARY KEY (position), 
	CHECK (length("day") = 10), 
	UNIQUE (version)
)
 STRICT

;
INSERT INTO "versions" VALUES(1,1,'2026-03-09','größer','größer','größer',1,1);
CREATE TABLE waivers (
	position INTEGER NOT NULL, 
	assembly TEXT NOT NULL, 
	joint TEXT NOT NULL, 
	role TEXT NOT NULL, 
	build TEXT NOT NULL, 
	reason TEXT NOT NULL, 
	signed TEXT NOT NULL, 
	day TEXT, 
	PRIMARY KEY (position), 
	CHECK (length("day") = 10), 
	UNIQUE (assembly, joint, role, build)
)
 STRICT

;
CREATE TRIGGER "moves_no_update" BEFORE UPDATE ON "moves" BEGIN SELECT RAISE(ABORT, 'a move is never edited or removed; reverse it'); END;
CREATE TRIGGER "moves_no_delete" BEFORE DELETE ON "moves" BEGIN SELECT RAISE(ABORT, 'a move is never edited or removed; reverse it'); END;
CREATE INDEX moves_by_part ON moves (part, lot, held_for);
CREATE INDEX receipts_by_order ON receipts ("order", line);
CREATE TRIGGER "proposals_no_update" BEFORE UPDATE ON "proposals" BEGIN SELECT RAISE(ABORT, 'a decision is never edited or removed; decide again'); END;
CREATE TRIGGER "proposals_no_delete" BEFORE DELETE ON "proposals" BEGIN SELECT RAISE(ABORT, 'a decision is never edited or removed; decide again'); END;
CREATE INDEX on_hand_by_build ON on_hand (build);
CREATE INDEX moves_by_build ON moves (build);
CREATE INDEX moves_by_day ON moves (day);
CREATE TRIGGER "kits_no_update" BEFORE UPDATE ON "kits" BEGIN SELECT RAISE(ABORT, 'a kit that was called complete stays so; call it complete again'); END;
CREATE TRIGGER "kits_no_delete" BEFORE DELETE ON "kits" BEGIN SELECT RAISE(ABORT, 'a kit that was called complete stays so; call it complete again'); END;
CREATE TRIGGER "kit_shorts_no_update" BEFORE UPDATE ON "kit_shorts" BEGIN SELECT RAISE(ABORT, 'what was short then stays a fact'); END;
CREATE TRIGGER "kit_shorts_no_delete" BEFORE DELETE ON "kit_shorts" BEGIN SELECT RAISE(ABORT, 'what was short then stays a fact'); END;
CREATE TRIGGER "versions_no_update" BEFORE UPDATE ON "versions" BEGIN SELECT RAISE(ABORT, 'a version of the bill stays as it was; make a new one'); END;
CREATE TRIGGER "versions_no_delete" BEFORE DELETE ON "versions" BEGIN SELECT RAISE(ABORT, 'a version of the bill stays as it was; make a new one'); END;
CREATE TRIGGER "version_rows_no_update" BEFORE UPDATE ON "version_rows" BEGIN SELECT RAISE(ABORT, 'what a version changed stays as it was'); END;
CREATE TRIGGER "version_rows_no_delete" BEFORE DELETE ON "version_rows" BEGIN SELECT RAISE(ABORT, 'what a version changed stays as it was'); END;
CREATE INDEX version_rows_by_version ON version_rows (version);
CREATE INDEX order_facts_by_line ON order_facts ("order", line);
CREATE TRIGGER "order_facts_no_update" BEFORE UPDATE ON "order_facts" BEGIN SELECT RAISE(ABORT, 'what happened to an order stays a fact; note what happened since'); END;
CREATE TRIGGER "order_facts_no_delete" BEFORE DELETE ON "order_facts" BEGIN SELECT RAISE(ABORT, 'what happened to an order stays a fact; note what happened since'); END;
CREATE INDEX claims_by_number ON claims (claim);
CREATE TRIGGER "claims_no_update" BEFORE UPDATE ON "claims" BEGIN SELECT RAISE(ABORT, 'a claim is never edited or removed; note what happened since'); END;
CREATE TRIGGER "claims_no_delete" BEFORE DELETE ON "claims" BEGIN SELECT RAISE(ABORT, 'a claim is never edited or removed; note what happened since'); END;
CREATE TRIGGER "counts_no_update" BEFORE UPDATE ON "counts" BEGIN SELECT RAISE(ABORT, 'what was counted stays a fact; count again'); END;
CREATE TRIGGER "counts_no_delete" BEFORE DELETE ON "counts" BEGIN SELECT RAISE(ABORT, 'what was counted stays a fact; count again'); END;
COMMIT;
