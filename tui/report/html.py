"""The report as one HTML file: no script, nothing fetched, and fit for printing."""

from typing import Final

from .content import Content

_SIZES: Final = {"a4": ("A4", "56mm"), "letter": ("letter", "40mm")}
"""Of paper, and how high the clocks may be so that the customer's page is one."""


def html(content: Content) -> bytes:
    """The page. Whatever stands in the content is text; only pictures of our own are markup."""
    from jinja2 import Environment, PackageLoader, StrictUndefined

    environment = Environment(
        loader=PackageLoader("coaxly.report"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
    )
    page = environment.get_template("report.html.j2").render(
        front=content.front,
        back=content.back,
        photos=content.photos,
        page_size=_SIZES[content.paper][0],
        clock_height=_SIZES[content.paper][1],
    )
    return page.encode("utf-8")
