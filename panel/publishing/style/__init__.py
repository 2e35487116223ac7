"""The style sheets of a published result: one for the result itself, one for the static frame."""

from importlib.resources import files


def result_style() -> str:
    """The rules for the result's <article>; the page around it gives the variables."""
    return files(__name__).joinpath("result.css").read_text(encoding="utf-8")


def static_style() -> str:
    """Everything that the static folder's pages need."""
    frame = files(__name__).joinpath("page.css").read_text(encoding="utf-8")
    return f"{frame}\n{result_style()}"
