"""First tables: sites to readings, events, imports, daily values and assessments.

Revision ID: 39b23879049c
Revises:
"""

import sqlalchemy as sa
from alembic import op

revision = "39b23879049c"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "element_models",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=100), nullable=False),
        sa.Column("area_m2", sa.Double(), nullable=False),
        sa.Column("diameter_inch", sa.Double(), nullable=False),
        sa.Column("temperature_correction", sa.String(length=32), nullable=False),
        sa.Column("slope_k", sa.Double(), nullable=True),
        sa.Column("percent_per_degc", sa.Double(), nullable=True),
        sa.Column("salt_temperature_correction", sa.String(length=32), nullable=False),
        sa.Column("salt_slope_k", sa.Double(), nullable=True),
        sa.Column("water_permeability_lmh_bar", sa.Double(), nullable=True),
        sa.Column("salt_permeability_lmh", sa.Double(), nullable=True),
        sa.Column("max_dp_element_bar", sa.Double(), nullable=False),
        sa.Column("max_dp_vessel_bar", sa.Double(), nullable=False),
        sa.Column("max_pressure_bar", sa.Double(), nullable=False),
        sa.Column("max_temperature_c", sa.Double(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_element_models")),
    )
    with op.batch_alter_table("element_models", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_element_models_name"), ["name"], unique=False)

    op.create_table(
        "sites",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=200), nullable=False),
        sa.Column("timezone", sa.String(length=64), nullable=False),
        sa.Column("currency", sa.String(length=16), nullable=False),
        sa.Column("location", sa.Text(), nullable=False),
        sa.Column("units", sa.String(length=8), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_sites")),
        sa.UniqueConstraint("name", name=op.f("uq_sites_name")),
    )
    op.create_table(
        "mappings",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("site_id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=200), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("author", sa.String(length=200), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["site_id"], ["sites.id"], name=op.f("fk_mappings_site_id_sites")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_mappings")),
        sa.UniqueConstraint("site_id", "name", name=op.f("uq_mappings_site_id_name")),
    )
    op.create_table(
        "trains",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("site_id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=200), nullable=False),
        sa.Column("settings", sa.Text(), nullable=False),
        sa.Column("plant_file", sa.Text(), nullable=False),
        sa.Column("columns", sa.Text(), nullable=False),
        sa.Column("inputs_version", sa.Integer(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["site_id"], ["sites.id"], name=op.f("fk_trains_site_id_sites")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_trains")),
        sa.UniqueConstraint("site_id", "name", name=op.f("uq_trains_site_id_name")),
    )
    op.create_table(
        "assessments",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("train_id", sa.Integer(), nullable=False),
        sa.Column("as_of", sa.DateTime(timezone=True), nullable=False),
        sa.Column("level", sa.String(length=32), nullable=False),
        sa.Column("headline", sa.Text(), nullable=False),
        sa.Column("summary", sa.Text(), nullable=False),
        sa.Column("document", sa.Text(), nullable=False),
        sa.Column("series", sa.Text(), nullable=False),
        sa.Column("version", sa.String(length=32), nullable=False),
        sa.Column("inputs_version", sa.Integer(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["train_id"], ["trains.id"], name=op.f("fk_assessments_train_id_trains")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_assessments")),
        sa.UniqueConstraint("train_id", name=op.f("uq_assessments_train_id")),
    )
    op.create_table(
        "daily",
        sa.Column("train_id", sa.Integer(), nullable=False),
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column("content", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["train_id"], ["trains.id"], name=op.f("fk_daily_train_id_trains")),
        sa.PrimaryKeyConstraint("train_id", "day", name=op.f("pk_daily")),
    )
    op.create_table(
        "events",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("train_id", sa.Integer(), nullable=False),
        sa.Column("happened_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("kind", sa.String(length=32), nullable=False),
        sa.Column("stage", sa.Integer(), nullable=True),
        sa.Column("detail", sa.Text(), nullable=False),
        sa.Column("author", sa.String(length=200), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("voided_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("void_reason", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["train_id"], ["trains.id"], name=op.f("fk_events_train_id_trains")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_events")),
    )
    with op.batch_alter_table("events", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_events_train_id_happened_at"), ["train_id", "happened_at"], unique=False)

    op.create_table(
        "imports",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("train_id", sa.Integer(), nullable=False),
        sa.Column("file_name", sa.String(length=255), nullable=False),
        sa.Column("sha256", sa.String(length=64), nullable=False),
        sa.Column("content", sa.LargeBinary(), nullable=False),
        sa.Column("mapping", sa.Text(), nullable=False),
        sa.Column("column_units", sa.Text(), nullable=False),
        sa.Column("unknown_columns", sa.Text(), nullable=False),
        sa.Column("counts", sa.Text(), nullable=False),
        sa.Column("problems", sa.Text(), nullable=False),
        sa.Column("differences", sa.Text(), nullable=False),
        sa.Column("preview", sa.Text(), nullable=False),
        sa.Column("notes", sa.Text(), nullable=False),
        sa.Column("first_taken_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("last_taken_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("status", sa.String(length=16), nullable=False),
        sa.Column("author", sa.String(length=200), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("finished_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(["train_id"], ["trains.id"], name=op.f("fk_imports_train_id_trains")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_imports")),
    )
    with op.batch_alter_table("imports", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_imports_train_id_id"), ["train_id", "id"], unique=False)

    op.create_table(
        "limits",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("train_id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=64), nullable=False),
        sa.Column("value", sa.Double(), nullable=False),
        sa.Column("author", sa.String(length=200), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["train_id"], ["trains.id"], name=op.f("fk_limits_train_id_trains")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_limits")),
    )
    with op.batch_alter_table("limits", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_limits_train_id_id"), ["train_id", "id"], unique=False)

    op.create_table(
        "references",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("train_id", sa.Integer(), nullable=False),
        sa.Column("start", sa.Date(), nullable=False),
        sa.Column("end", sa.Date(), nullable=False),
        sa.Column("author", sa.String(length=200), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["train_id"], ["trains.id"], name=op.f("fk_references_train_id_trains")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_references")),
    )
    with op.batch_alter_table("references", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_references_train_id_id"), ["train_id", "id"], unique=False)

    op.create_table(
        "set_aside",
        sa.Column("train_id", sa.Integer(), nullable=False),
        sa.Column("taken_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("reason", sa.String(length=32), nullable=False),
        sa.Column("content", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(["train_id"], ["trains.id"], name=op.f("fk_set_aside_train_id_trains")),
        sa.PrimaryKeyConstraint("train_id", "taken_at", name=op.f("pk_set_aside")),
    )
    op.create_table(
        "stages",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("train_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("vessels", sa.Integer(), nullable=False),
        sa.Column("elements_per_vessel", sa.Integer(), nullable=False),
        sa.Column("element_model_id", sa.Integer(), nullable=False),
        sa.Column("booster", sa.Boolean(), nullable=False),
        sa.ForeignKeyConstraint(
            ["element_model_id"], ["element_models.id"], name=op.f("fk_stages_element_model_id_element_models")
        ),
        sa.ForeignKeyConstraint(["train_id"], ["trains.id"], name=op.f("fk_stages_train_id_trains")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_stages")),
        sa.UniqueConstraint("train_id", "number", name=op.f("uq_stages_train_id_number")),
    )
    op.create_table(
        "readings",
        sa.Column("id", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False),
        sa.Column("train_id", sa.Integer(), nullable=False),
        sa.Column("taken_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("feed_temperature_c", sa.Double(), nullable=True),
        sa.Column("feed_flow_m3h", sa.Double(), nullable=True),
        sa.Column("permeate_flow_m3h", sa.Double(), nullable=True),
        sa.Column("concentrate_flow_m3h", sa.Double(), nullable=True),
        sa.Column("recycle_flow_m3h", sa.Double(), nullable=True),
        sa.Column("feed_pressure_bar", sa.Double(), nullable=True),
        sa.Column("concentrate_pressure_bar", sa.Double(), nullable=True),
        sa.Column("permeate_pressure_bar", sa.Double(), nullable=True),
        sa.Column("feed_conductivity_us_cm", sa.Double(), nullable=True),
        sa.Column("permeate_conductivity_us_cm", sa.Double(), nullable=True),
        sa.Column("concentrate_conductivity_us_cm", sa.Double(), nullable=True),
        sa.Column("feed_tds_mg_l", sa.Double(), nullable=True),
        sa.Column("permeate_tds_mg_l", sa.Double(), nullable=True),
        sa.Column("concentrate_tds_mg_l", sa.Double(), nullable=True),
        sa.Column("feed_ph", sa.Double(), nullable=True),
        sa.Column("permeate_ph", sa.Double(), nullable=True),
        sa.Column("concentrate_ph", sa.Double(), nullable=True),
        sa.Column("feed_orp_mv", sa.Double(), nullable=True),
        sa.Column("raw_free_chlorine_mg_l", sa.Double(), nullable=True),
        sa.Column("feed_free_chlorine_mg_l", sa.Double(), nullable=True),
        sa.Column("feed_turbidity_ntu", sa.Double(), nullable=True),
        sa.Column("feed_sdi", sa.Double(), nullable=True),
        sa.Column("raw_pressure_bar", sa.Double(), nullable=True),
        sa.Column("media_filter_inlet_pressure_bar", sa.Double(), nullable=True),
        sa.Column("media_filter_outlet_pressure_bar", sa.Double(), nullable=True),
        sa.Column("cartridge_inlet_pressure_bar", sa.Double(), nullable=True),
        sa.Column("cartridge_outlet_pressure_bar", sa.Double(), nullable=True),
        sa.Column("pump_suction_pressure_bar", sa.Double(), nullable=True),
        sa.Column("pump_discharge_pressure_bar", sa.Double(), nullable=True),
        sa.Column("pump_power_kw", sa.Double(), nullable=True),
        sa.Column("energy_counter_kwh", sa.Double(), nullable=True),
        sa.Column("hours_counter_h", sa.Double(), nullable=True),
        sa.Column("permeate_counter_m3", sa.Double(), nullable=True),
        sa.Column("pump_frequency_hz", sa.Double(), nullable=True),
        sa.Column("pump_current_a", sa.Double(), nullable=True),
        sa.Column("antiscalant_dose_mg_l", sa.Double(), nullable=True),
        sa.Column("bisulfite_dose_mg_l", sa.Double(), nullable=True),
        sa.Column("acid_dose_mg_l", sa.Double(), nullable=True),
        sa.Column("antiscalant_tank_level_l", sa.Double(), nullable=True),
        sa.Column("bisulfite_tank_level_l", sa.Double(), nullable=True),
        sa.Column("stage1_permeate_flow_m3h", sa.Double(), nullable=True),
        sa.Column("stage1_concentrate_pressure_bar", sa.Double(), nullable=True),
        sa.Column("stage1_permeate_pressure_bar", sa.Double(), nullable=True),
        sa.Column("stage1_permeate_conductivity_us_cm", sa.Double(), nullable=True),
        sa.Column("stage1_concentrate_conductivity_us_cm", sa.Double(), nullable=True),
        sa.Column("stage2_permeate_flow_m3h", sa.Double(), nullable=True),
        sa.Column("stage2_feed_pressure_bar", sa.Double(), nullable=True),
        sa.Column("stage2_concentrate_pressure_bar", sa.Double(), nullable=True),
        sa.Column("stage2_permeate_pressure_bar", sa.Double(), nullable=True),
        sa.Column("stage2_permeate_conductivity_us_cm", sa.Double(), nullable=True),
        sa.Column("stage2_concentrate_conductivity_us_cm", sa.Double(), nullable=True),
        sa.Column("stage3_permeate_flow_m3h", sa.Double(), nullable=True),
        sa.Column("stage3_feed_pressure_bar", sa.Double(), nullable=True),
        sa.Column("stage3_concentrate_pressure_bar", sa.Double(), nullable=True),
        sa.Column("stage3_permeate_pressure_bar", sa.Double(), nullable=True),
        sa.Column("stage3_permeate_conductivity_us_cm", sa.Double(), nullable=True),
        sa.Column("stage3_concentrate_conductivity_us_cm", sa.Double(), nullable=True),
        sa.Column("stage4_permeate_flow_m3h", sa.Double(), nullable=True),
        sa.Column("stage4_feed_pressure_bar", sa.Double(), nullable=True),
        sa.Column("stage4_concentrate_pressure_bar", sa.Double(), nullable=True),
        sa.Column("stage4_permeate_pressure_bar", sa.Double(), nullable=True),
        sa.Column("stage4_permeate_conductivity_us_cm", sa.Double(), nullable=True),
        sa.Column("stage4_concentrate_conductivity_us_cm", sa.Double(), nullable=True),
        sa.Column("state", sa.String(length=16), server_default=sa.text("('')"), nullable=False),
        sa.Column("remark", sa.Text(), server_default=sa.text("('')"), nullable=False),
        sa.Column("typed", sa.Text(), nullable=True),
        sa.Column("source", sa.String(length=8), nullable=False),
        sa.Column("author", sa.String(length=200), server_default=sa.text("('')"), nullable=False),
        sa.Column("import_id", sa.Integer(), nullable=True),
        sa.Column("revision", sa.Integer(), server_default="1", nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("voided_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("void_reason", sa.Text(), server_default=sa.text("('')"), nullable=False),
        sa.ForeignKeyConstraint(["import_id"], ["imports.id"], name=op.f("fk_readings_import_id_imports")),
        sa.ForeignKeyConstraint(["train_id"], ["trains.id"], name=op.f("fk_readings_train_id_trains")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_readings")),
        sa.UniqueConstraint("train_id", "taken_at", name=op.f("uq_readings_train_id_taken_at")),
    )
    with op.batch_alter_table("readings", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_readings_import_id"), ["import_id"], unique=False)

    op.create_table(
        "reading_revisions",
        sa.Column("id", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False),
        sa.Column("reading_id", sa.BigInteger().with_variant(sa.Integer(), "sqlite"), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("content", sa.Text(), nullable=False),
        sa.Column("source", sa.String(length=8), nullable=False),
        sa.Column("author", sa.String(length=200), nullable=False),
        sa.Column("written_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("replaced_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("replaced_by", sa.String(length=200), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["reading_id"], ["readings.id"], name=op.f("fk_reading_revisions_reading_id_readings")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_reading_revisions")),
        sa.UniqueConstraint("reading_id", "revision", name=op.f("uq_reading_revisions_reading_id_revision")),
    )


def downgrade() -> None:
    op.drop_table("reading_revisions")
    with op.batch_alter_table("readings", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_readings_import_id"))

    op.drop_table("readings")
    op.drop_table("stages")
    op.drop_table("set_aside")
    with op.batch_alter_table("references", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_references_train_id_id"))

    op.drop_table("references")
    with op.batch_alter_table("limits", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_limits_train_id_id"))

    op.drop_table("limits")
    with op.batch_alter_table("imports", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_imports_train_id_id"))

    op.drop_table("imports")
    with op.batch_alter_table("events", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_events_train_id_happened_at"))

    op.drop_table("events")
    op.drop_table("daily")
    op.drop_table("assessments")
    op.drop_table("trains")
    op.drop_table("mappings")
    op.drop_table("sites")
    with op.batch_alter_table("element_models", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_element_models_name"))

    op.drop_table("element_models")
