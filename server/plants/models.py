"""Sites, trains, stages and element models; and per train what was chosen as reference and as limits."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from sqlalchemy import Boolean, Date, Double, ForeignKey, Index, Integer, String, Text, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column, relationship

from server.db import Base, Json, UtcTime, now


class Site(Base):
    """A place with its clock, money and preferred units (SI or US)."""

    __tablename__ = "sites"

    id: Mapped[int] = mapped_column(Integer, primary_key=True)
    name: Mapped[str] = mapped_column(String(200), unique=True)
    timezone: Mapped[str] = mapped_column(String(64))
    currency: Mapped[str] = mapped_column(String(16), default="")
    location: Mapped[str] = mapped_column(Text, default="")
    units: Mapped[str] = mapped_column(String(8), default="SI")
    created_at: Mapped[datetime] = mapped_column(UtcTime, default=now)

    trains: Mapped[list[Train]] = relationship(back_populates="site", lazy="raise", order_by="Train.id")


class Train(Base):
    """One train of one site.

    `settings` holds what is not in a column of its own: {"water": ..., "assumed": {...}, "method": {...},
    "screening": {...}}, only the keys that were given. `plant_file` is the text it was made from.
    `columns` names the columns that any of its readings has. `inputs_version` counts every change of what an
    assessment rests on.
    """

    __tablename__ = "trains"
    __table_args__ = (UniqueConstraint("site_id", "name"),)

    id: Mapped[int] = mapped_column(Integer, primary_key=True)
    site_id: Mapped[int] = mapped_column(ForeignKey("sites.id"))
    name: Mapped[str] = mapped_column(String(200))
    settings: Mapped[dict[str, Any]] = mapped_column(Json, default=dict)
    plant_file: Mapped[str] = mapped_column(Text, default="")
    columns: Mapped[list[str]] = mapped_column(Json, default=list)
    inputs_version: Mapped[int] = mapped_column(Integer, default=1)
    created_at: Mapped[datetime] = mapped_column(UtcTime, default=now)

    site: Mapped[Site] = relationship(back_populates="trains", lazy="raise")
    stages: Mapped[list[Stage]] = relationship(back_populates="train", lazy="raise", order_by="Stage.number")


class ElementModel(Base):
    """One kind of membrane element; the columns are the fields of `analytics.plant.Membrane`."""

    __tablename__ = "element_models"

    id: Mapped[int] = mapped_column(Integer, primary_key=True)
    name: Mapped[str] = mapped_column(String(100), index=True)
    area_m2: Mapped[float] = mapped_column(Double)
    diameter_inch: Mapped[float] = mapped_column(Double)
    temperature_correction: Mapped[str] = mapped_column(String(32))
    slope_k: Mapped[float | None] = mapped_column(Double)
    percent_per_degc: Mapped[float | None] = mapped_column(Double)
    salt_temperature_correction: Mapped[str] = mapped_column(String(32))
    salt_slope_k: Mapped[float | None] = mapped_column(Double)
    water_permeability_lmh_bar: Mapped[float | None] = mapped_column(Double)
    salt_permeability_lmh: Mapped[float | None] = mapped_column(Double)
    max_dp_element_bar: Mapped[float] = mapped_column(Double)
    max_dp_vessel_bar: Mapped[float] = mapped_column(Double)
    max_pressure_bar: Mapped[float] = mapped_column(Double)
    max_temperature_c: Mapped[float] = mapped_column(Double)
    element_length_m: Mapped[float] = mapped_column(Double, server_default="1.016")
    cleaning_min_ph: Mapped[float] = mapped_column(Double, server_default="2.0")
    cleaning_max_ph_25c: Mapped[float] = mapped_column(Double, server_default="12.0")
    cleaning_max_ph_35c: Mapped[float] = mapped_column(Double, server_default="12.0")
    cleaning_max_ph_45c: Mapped[float] = mapped_column(Double, server_default="10.5")
    cleaning_max_temperature_c: Mapped[float] = mapped_column(Double, server_default="45.0")
    cleaning_max_pressure_bar: Mapped[float] = mapped_column(Double, server_default="4.0")


class Stage(Base):
    """One stage of a train, numbered from 1 in the order of the water."""

    __tablename__ = "stages"
    __table_args__ = (UniqueConstraint("train_id", "number"),)

    id: Mapped[int] = mapped_column(Integer, primary_key=True)
    train_id: Mapped[int] = mapped_column(ForeignKey("trains.id"))
    number: Mapped[int] = mapped_column(Integer)
    vessels: Mapped[int] = mapped_column(Integer)
    elements_per_vessel: Mapped[int] = mapped_column(Integer)
    element_model_id: Mapped[int] = mapped_column(ForeignKey("element_models.id"))
    booster: Mapped[bool] = mapped_column(Boolean, default=False)

    train: Mapped[Train] = relationship(back_populates="stages", lazy="raise")
    element_model: Mapped[ElementModel] = relationship(lazy="raise")


class Reference(Base):
    """A reference period that was chosen for a train; the newest counts, the older ones are its history."""

    __tablename__ = "references"
    __table_args__ = (Index(None, "train_id", "id"),)

    id: Mapped[int] = mapped_column(Integer, primary_key=True)
    train_id: Mapped[int] = mapped_column(ForeignKey("trains.id"))
    start: Mapped[date] = mapped_column(Date)
    end: Mapped[date] = mapped_column(Date)
    author: Mapped[str] = mapped_column(String(200), default="")
    reason: Mapped[str] = mapped_column(Text, default="")
    created_at: Mapped[datetime] = mapped_column(UtcTime, default=now)


class Limit(Base):
    """One limit of a train, named as in `analytics.plant.Limits`; the newest of a name counts."""

    __tablename__ = "limits"
    __table_args__ = (Index(None, "train_id", "id"),)

    id: Mapped[int] = mapped_column(Integer, primary_key=True)
    train_id: Mapped[int] = mapped_column(ForeignKey("trains.id"))
    name: Mapped[str] = mapped_column(String(64))
    value: Mapped[float] = mapped_column(Double)
    author: Mapped[str] = mapped_column(String(200), default="")
    reason: Mapped[str] = mapped_column(Text, default="")
    created_at: Mapped[datetime] = mapped_column(UtcTime, default=now)
