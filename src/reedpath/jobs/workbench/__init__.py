"""The workbench: a phrase brought in, settled and corrected in a conversation of commands and messages (JSON)."""

from typing import TYPE_CHECKING

from reedpath.lazy_faces import lazy_face

if TYPE_CHECKING:
    from reedpath.jobs.workbench.commands import Command, encode_command, read_command
    from reedpath.jobs.workbench.conversation import Workbench, converse
    from reedpath.jobs.workbench.draft import Draft, HeardSpan, WorkbenchPast, encode_draft, read_draft
    from reedpath.jobs.workbench.hearing import hear_span, waveform_of
    from reedpath.jobs.workbench.keeping import (
        BroughtFile,
        draft_of_phrase,
        read_brought,
        save_lesson,
        save_phrase,
        typed_formats,
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
    from reedpath.jobs.workbench.settling import HarpOwned
    from reedpath.jobs.workbench.sounds import PartPlayed, PartSound, sound_of_part, sound_of_source
else:
    __getattr__ = lazy_face(__name__)

__all__ = [
    "BroughtFile",
    "Command",
    "Draft",
    "DraftKept",
    "HarpOwned",
    "HeardSpan",
    "PartPlayed",
    "PartSound",
    "PricesShown",
    "SurveyShown",
    "TradeOffShown",
    "WaysShown",
    "Workbench",
    "WorkbenchMessage",
    "WorkbenchPast",
    "WorkbenchView",
    "WrittenShown",
    "converse",
    "draft_of_phrase",
    "encode_command",
    "encode_draft",
    "encode_message",
    "hear_span",
    "read_brought",
    "read_command",
    "read_draft",
    "read_message",
    "save_lesson",
    "save_phrase",
    "sound_of_part",
    "sound_of_source",
    "typed_formats",
    "waveform_of",
]
