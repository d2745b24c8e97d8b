"""What a search may still spend: counted steps, so that the same question has the same answer on every machine."""


class OutOfSteps(Exception):
    """The question was too hard for the steps allowed."""


class Steps:
    """A store of steps.

    Attributes:
        left: What is left of it.
    """

    __slots__ = ("left",)

    def __init__(self, steps: int) -> None:
        self.left = steps

    def take(self) -> None:
        """One step.

        Raises:
            OutOfSteps: There is none left.
        """
        if self.left <= 0:
            raise OutOfSteps
        self.left -= 1
