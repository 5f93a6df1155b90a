"""A train of two stages as fitted, in round numbers: 30 m3/h of permeate at 75 % from 2000 mg/L and 25 degC."""

from dataclasses import replace

from analytics.decisions.train_model import StageAsFitted, TrainModel
from analytics.plant import Membrane

SIX = StageAsFitted(4, 6, Membrane(37.2), 3.2, 0.19, 0.0075, 0.0, 0.0)
MODEL = TrainModel((SIX, replace(SIX, vessels=2)), 25.0, "natural-brackish", 2000.0, 30.0, 0.75, 11.26)
