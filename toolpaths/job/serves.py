"""Model of what a jig is for: the jobs whose blanks lie on it."""

from __future__ import annotations

from typing import Literal

from pydantic import Field, model_validator

from toolpaths.common.input_model import InputModel


class Serves(InputModel):
    """The jobs whose blanks lie on a jig: paths, counted from the jig's folder."""

    board: str | None = Field(default=None, min_length=1, max_length=200, description="The job of the board.")
    neck: str | None = Field(default=None, min_length=1, max_length=200, description="The job of the neck.")

    @model_validator(mode="after")
    def _one_at_least(self) -> Serves:
        if self.board is None and self.neck is None:
            raise ValueError("name the job of the board, of the neck, or both: {board: my-board.yaml}")
        return self

    @property
    def paths(self) -> dict[Literal["board", "neck"], str]:
        """The path of each part's job that it names."""
        named: dict[Literal["board", "neck"], str | None] = {"board": self.board, "neck": self.neck}
        return {part: path for part, path in named.items() if path is not None}
