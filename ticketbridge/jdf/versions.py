"""Which word of JDF and JMF came with which version, and what a document for an older reader must leave out.

The table holds our own vocabulary. ``Media@Thickness`` is an attribute, ``Device/Module`` a child element,
``*`` stands for any element and ``ResourceLink`` for any link. What is not listed came with 1.1 or earlier.
"""

import re
from collections.abc import Mapping
from functools import cache, lru_cache
from typing import Final

from ticketbridge.jdf.paths import local_name
from ticketbridge.jdf.writing import Element
from ticketbridge.vocabulary.names import jdf

_FIRST: Final = {
    "1.2": """
        *@SettingsPolicy
        ColorIntent/ColorICCStandard Contact@ContactTypeDetails ContentObject@TrimSize
        Created@AgentName Created@AgentVersion Created@ID Created@TemplateID CustomerInfo@CustomerProjectID
        DeviceInfo@DeviceCondition DeviceInfo@DeviceOperationMode DigitalPrintingParams@DirectProofAmount
        DigitalPrintingParams@NonPrintableMarginBottom DigitalPrintingParams@NonPrintableMarginLeft
        DigitalPrintingParams@NonPrintableMarginRight DigitalPrintingParams@NonPrintableMarginTop
        Employee@Roles Error@ReturnCode FileSpec@MimeTypeVersion HoleMakingIntent@Extent
        JDF@Category JDF@ICSVersions JDF@MaxVersion JDF@RelatedJobID JDF@RelatedJobPartID JDF@StatusDetails
        JDF@NamedFeatures JDF@TemplateID JMF@ResponseURL JobPhase/MISDetails JobPhase@PhaseAmount JobPhase@PhaseStartTime
        JobPhase@PhaseWaste LayoutElement@IsBlank LayoutIntent@RotatePolicy Media@MediaColorNameDetails
        Media@OpacityLevel Modified@AgentName Modified@AgentVersion Modified@ID NodeInfo/MISDetails
        Notification/Event Notification@AgentName Notification@AgentVersion Notification@ID
        NotificationFilter/Part NotificationFilter@QueueEntryID NotificationFilter@SignalTypes
        ObservationTarget@ObservationPath
        Part@Condition PartAmount@ActualAmount PartStatus@StatusDetails PhaseTime/MISDetails PhaseTime@AgentName PhaseTime@AgentVersion
        PhaseTime@ID ProcessRun@AgentName ProcessRun@AgentVersion ProcessRun@ID
        Queue@QueueSize QueueEntry/JobPhase QueueEntry/Part QueueEntry@DeviceID QueueEntry@EndTime
        QueueSubmissionParams@ReturnJMF QueueSubmissionParams@ReturnURL QueueSubmissionParams@refID
        ResourceAudit@AgentName ResourceAudit@AgentVersion ResourceAudit@ID
        ResourceInfo/MISDetails ResourceInfo@ActualAmount ResourceInfo@ProductID ResourceInfo@Status
        ResourceQuParams/Part ResourceQuParams@ProductID ResourceQuParams@QueueEntryID
        SubmissionMethods@Packaging SubmissionMethods@URLSchemes
        StatusPool@StatusDetails StatusQuParams/Part StatusQuParams@QueueEntryID StopPersChParams@QueueEntryID
        Tile/Media Tile/MediaRef Trigger/ChangedPath
    """,
    "1.3": """
        */GeneralID
        Color@ActualColorName Comment@AgentName Comment@AgentVersion Comment@Author Comment@ID
        Comment@TimeStamp Component@ProductTypeDetails Device/Module Device@ICSVersions DeviceInfo@DeviceID
        DigitalPrintingParams@Sides Error/ErrorData Error@Resend JMF@ICSVersions JMF@MaxVersion
        JobPhase/ModuleStatus LaminatingIntent/Texture KnownMsgQuParams@ListRegistrations Layout@SurfaceContentsBox Media@CoreWeight
        Media@OuterCoreDiameter MediaIntent/MediaTypeDetails MessageService@JMFRole
        MessageService@Registration NodeInfo@NodeStatus NodeInfo@NodeStatusDetails Notification@JobID
        Notification@JobPartID PartAmount/Lot PartAmount@MaxAmount PartAmount@MinAmount
        Query@AcknowledgeType Query@AcknowledgeURL QueueSubmissionParams@GangName
        QueueSubmissionParams@GangPolicy ResourceAudit/MISDetails ResourceAudit/Part ResourceAudit@NodeStatus
        ResourceInfo/AmountPool ResourceInfo@ModuleID ResourceInfo@ModuleIndex ResourceInfo@ResourceID
        ResourceInfo@Usage ResourceLink/Lot ResourceLink@MaxAmount ResourceLink@MinAmount
        ResourceLink@MinStatus ResourceQuParams@ResourceID Subscription@MinDelayTime
    """,
    "1.4": """
        Command@RelatedCommands Command@TransactionID Component/Media Component/MediaRef Created/Employee Created@QueueEntryID
        DeviceInfo@IdleStartTime GeneralID@DataType JMF@AgentName JMF@AgentVersion
        KnownMsgQuParams@ChannelMode LayoutElement@SourceMediaBox Media@InnerCoreDiameter Media@MediaQuality
        Media@PrintingTechnology MediaIntent/MediaQuality MessageService@ChannelMode Modified/Employee
        Modified@QueueEntryID NodeInfo@WorkStepID Notification/Employee Notification@CombinedProcessIndex
        Notification@ModuleID Notification@ModuleIndex Notification@ModuleType Notification@QueueEntryID
        NotificationFilter@MilestoneTypes PhaseTime/Employee PhaseTime@QueueEntryID ProcessRun/Employee
        ProcessRun@QueueEntryID ProcessRun@ReturnTime ProcessRun@SubmissionTime QueueFilter/Part
        QueueFilter@JobID QueueFilter@JobPartID QueueFilter@UpdateGranularity ResourceAudit/Employee
        ResourceAudit@QueueEntryID ResourceInfo/Lot ResourceInfo/Part ResourceInfo@CommandResult
        ResourceInfo@LotControlled ResourceQuParams@Scope Signal@ChannelMode Subscription@ChannelMode
        Subscription@RetryPolicy
    """,
    "1.5": """
        Color@ColorTypeDetails ColorantControl@InternalColorModel Contact@UserID ContentObject@ID
        Device@DeviceClass DigitalPrintingParams@PrintPass LayoutIntent/Bleed QueueEntry@Activation
        QueueEntryPriParams/QueueFilter
        QueueEntry@StatusDetails RenderingParams@MimeType ResourceInfo@DeviceID ResourceInfo@Scope
        ResourceQuParams@Context Tile@TrimBox
    """,
    "1.6": """
        Part@LotID Queue@MaxQueueSize ResourceInfo@Speed ResourceInfo@TotalAmount
    """,
    "1.7": """
        DeviceInfo/Event DeviceInfo@EndTime JobPhase@EndTime JobPhase@WorkStepID ResourceInfo/Event
        Signal@ReplaceAfter Signal@ReplaceBefore
    """,
    "1.8": """
        FileSpec@NPage
    """,
}

_LAST: Final = {
    "1.1": """
        MediaIntent/Dimensions Modified@jRef ResourceLink@CombinedProcessType
    """,
    "1.2": """
        JDF/StatusPool
    """,
    "1.3": """
        Component@IsWaste Created@Author Device@FriendlyName Ink@ColorName Layout@MaxOrd Layout@Name
        Modified@Author ModulePhase@End ModulePhase@Start Notification@Author NotificationFilter@DeviceID
        PhaseTime@Author ProcessRun@Author ResourceAudit@Author
        SubmissionMethods@HotFolder
    """,
    "1.4": """
        InterpretingParams@Poster InterpretingParams@PosterOverlap JDF@NamedFeatures
        QueueEntryPriParams@QueueEntryID
        JMF@ResponseURL ModuleStatus/Employee NotificationFilter/Part NotificationFilter@JobID
        NotificationFilter@JobPartID NotificationFilter@QueueEntryID
        SubscriptionFilter@JobID SubscriptionFilter@JobPartID SubscriptionFilter@QueueEntryID
        SubscriptionInfo@JobID SubscriptionInfo@JobPartID SubscriptionInfo@QueueEntryID
    """,
    "1.5": """
        DropItemIntent@Unit PartAmount/Lot ResourceInfo/Lot ResourceLink/Lot ResourceQuParams@Context
        ResourceQuParams@ResourceID StatusQuParams@QueueInfo
    """,
}

_WORD: Final = re.compile(r"([\w*]+)(?:/|(?=@))(@?\w+)")


def _table(by_version: Mapping[str, str]) -> dict[tuple[str, str], str]:
    return {
        (element, what): version
        for version, words in by_version.items()
        for element, what in _WORD.findall(words)
    }


FIRST_VERSION: Final[Mapping[tuple[str, str], str]] = _table(_FIRST)
"""(element, ``@attribute`` or child) -> the version that brought it."""

LAST_VERSION: Final[Mapping[tuple[str, str], str]] = _table(_LAST)
"""(element, ``@attribute`` or child) -> the last version that had it."""


def first_version(element: str, what: str) -> str | None:
    """The version that brought an attribute (``@Name``) or a child; None where 1.1 had it."""
    return FIRST_VERSION.get((element, what)) or FIRST_VERSION.get(("*", what))


def fit_to_version(root: Element, version: str) -> None:
    """Take out of a document what a reader of a version does not know yet, or no longer.

    Other namespaces are left alone. ``Version`` itself is the writer's to set.

    Args:
        root: Root of the document; changed in place.
        version: Such as ``1.5``.
    """
    for element in list(root.iter(jdf("*"))):
        for what in _unfit(version, str(element.tag)):
            _take_out(element, what)


@lru_cache(maxsize=2000)  # a press may send back elements of any name
def _unfit(version: str, tag: str) -> tuple[str, ...]:
    """What a reader of a version does not know in an element: few words, so that most elements need no second look."""
    row, unfit = _row_of(tag), _newer_or_older(version)
    anywhere = [what for what in unfit.get("*", ()) if (row, what) not in FIRST_VERSION]
    return (*unfit.get(row, ()), *anywhere)


@cache
def _newer_or_older(version: str) -> dict[str, tuple[str, ...]]:
    words: dict[str, tuple[str, ...]] = {}
    newer = [word for word, first in FIRST_VERSION.items() if first > version]
    older = [word for word, last in LAST_VERSION.items() if last < version]
    for element, what in dict.fromkeys(newer + older):
        words[element] = (*words.get(element, ()), what)
    return words


def _row_of(tag: str) -> str:
    name = local_name(tag)
    return "ResourceLink" if name.endswith("Link") else name


def _take_out(element: Element, what: str) -> None:
    if what.startswith("@"):
        element.attrib.pop(what.removeprefix("@"), None)
    else:
        for child in list(element.iterchildren(jdf(what))):
            element.remove(child)
