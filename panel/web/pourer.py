"""The pourer's screen: a wave's cups in their places, with the ring of the jug that fills them."""

from flask import Blueprint, render_template
from flask.typing import ResponseReturnValue

pages = Blueprint("pourer", __name__, url_prefix="/pourer/<id:comparison>/<id:sitting>")


@pages.get("")
def waves(comparison: str, sitting: str) -> ResponseReturnValue:
    """The waves of a sitting."""
    return render_template("pourer/waves.html", comparison=comparison, sitting=sitting)
