"""The workbench: a phrase brought in, settled and corrected in a conversation of commands and messages (JSON)."""

from typing import TYPE_CHECKING

from reedpath.lazy_faces import lazy_face

if TYPE_CHECKING:
    from reedpath.jobs.workbench.commands import Command, encode_command, read_command
    from reedpath.jobs.workbench.conversation import Workbench, converse
    from reedpath.jobs.workbench.draft import (
        Draft,
        HeardSpan,
        MarkedPart,
        MovePin,
        TypedTab,
        WorkbenchPast,
        encode_draft,
        read_draft,
    )
    from reedpath.jobs.workbench.messages import (
        DraftKept,
        PricesShown,
        SurveyShown,
        TradeOffShown,
        WaysShown,
        WorkbenchMessage,
        WorkbenchView,
        WrittenShown,
        encode_message,
        read_message,
    )
else:
    __getattr__ = lazy_face(__name__)

__all__ = [
    "Command",
    "Draft",
    "DraftKept",
    "HeardSpan",
    "MarkedPart",
    "MovePin",
    "PricesShown",
    "SurveyShown",
    "TradeOffShown",
    "TypedTab",
    "WaysShown",
    "Workbench",
    "WorkbenchMessage",
    "WorkbenchPast",
    "WorkbenchView",
    "WrittenShown",
    "converse",
    "encode_command",
    "encode_draft",
    "encode_message",
    "read_command",
    "read_draft",
    "read_message",
]
