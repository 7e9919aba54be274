"""rimpoise, the client: a wheel's measured imbalance goes in, the weights to fit come back.

    from rimpoise import BuiltinStock, Client, Flange, Flanges, PlanQuestion, PointMass, Wheel, two_plane

    lip = Flange(thickness_mm=3.2)
    wheel = Wheel("alloy", "factory", "car", Flanges(lip, lip), rim_size="7Jx17", offset_mm=45)
    reading = two_plane(PointMass(-134, 212, 35, 62), PointMass(44, 212, 20, 198))
    with Client("http://localhost:8000") as client:
        plan = client.plan(PlanQuestion(reading, wheel, BuiltinStock("metric")))

Masses in g, lengths in mm, angles in degrees clockwise as seen from outboard; ``ounces``, ``pounds`` and
``inches`` convert. All exceptions are ``RimpoiseError``; the tree is drawn in ``rimpoise.errors``.
"""

from .answers import (
    Correction,
    CorrectionsAnswer,
    Health,
    IdealWeight,
    LeftOver,
    PlaneMass,
    Remark,
    RoundingAnswer,
    RoundingResidual,
    SplitAnswer,
    SplitResidual,
    StripPiece,
)
from .client import Client
from .errors import (
    AnswerError,
    BadRequest,
    ConnectionFailed,
    Fault,
    NotFound,
    Problem,
    ProblemError,
    QuestionError,
    RimpoiseError,
    RuleBroken,
    ServerError,
    TimedOut,
    TooLarge,
    TooManyRequests,
    TransportError,
    Unavailable,
)
from .messages import Call, Reply
from .plans import Choice, Layout, Piece, PlaceChoice, Plan, Residual, RuledOut, StyleChoices
from .questions import (
    Acceptance,
    CorrectionsQuestion,
    GradeAcceptance,
    KeepOutArc,
    Plane,
    PlanQuestion,
    Preferences,
    RoundingQuestion,
    RoundingTarget,
    SplitQuestion,
    SplitTarget,
    Spread,
    StyleQuestion,
)
from .readings import (
    PointMass,
    PointMassReading,
    Reading,
    StaticCoupleReading,
    StaticReading,
    TwoPlaneReading,
    two_plane,
)
from .reference import Guidance, Reference
from .retrying import Retry
from .stock import BuiltinStock, ClipOn, OwnStock, Stock, Strip, ThicknessRange
from .units import inches, ounces, pounds
from .version import __version__
from .wheel import EvenSpokes, Flange, Flanges, KeepOut, Land, Spokes, SpokeWindow, SpokeWindows, Wheel

__all__ = [
    "Acceptance",
    "AnswerError",
    "BadRequest",
    "BuiltinStock",
    "Call",
    "Choice",
    "Client",
    "ClipOn",
    "ConnectionFailed",
    "Correction",
    "CorrectionsAnswer",
    "CorrectionsQuestion",
    "EvenSpokes",
    "Fault",
    "Flange",
    "Flanges",
    "GradeAcceptance",
    "Guidance",
    "Health",
    "IdealWeight",
    "KeepOut",
    "KeepOutArc",
    "Land",
    "Layout",
    "LeftOver",
    "NotFound",
    "OwnStock",
    "Piece",
    "PlaceChoice",
    "Plan",
    "PlanQuestion",
    "Plane",
    "PlaneMass",
    "PointMass",
    "PointMassReading",
    "Preferences",
    "Problem",
    "ProblemError",
    "QuestionError",
    "Reading",
    "Reference",
    "Remark",
    "Reply",
    "Residual",
    "Retry",
    "RimpoiseError",
    "RoundingAnswer",
    "RoundingQuestion",
    "RoundingResidual",
    "RoundingTarget",
    "RuleBroken",
    "RuledOut",
    "ServerError",
    "SplitAnswer",
    "SplitQuestion",
    "SplitResidual",
    "SplitTarget",
    "SpokeWindow",
    "SpokeWindows",
    "Spokes",
    "Spread",
    "StaticCoupleReading",
    "StaticReading",
    "Stock",
    "Strip",
    "StripPiece",
    "StyleChoices",
    "StyleQuestion",
    "ThicknessRange",
    "TimedOut",
    "TooLarge",
    "TooManyRequests",
    "TransportError",
    "TwoPlaneReading",
    "Unavailable",
    "Wheel",
    "__version__",
    "inches",
    "ounces",
    "pounds",
    "two_plane",
]
