"""Text from a sheet stays text: in HTML, in Markdown, in mathematics of a figure, in every table and legend."""

import re
from html.parser import HTMLParser

import pytest

from golfphys.show import markup, tables

ODD = (
    "<img src=x onerror=alert(1)>",
    "<script>alert(1)</script>",
    "$x_1$",
    r"$\frac$ and $",
    r"\(x\)",
    "_low",
    "<low>",
    "*a*",
    "[a](javascript:alert(1))",
    "javascript:alert(1)",
    "https://example.org",
    "a@example.org",
    "`a` # b | c",
    "1. first",
    "two\nlines",
    "&lt;b&gt;",
)


class Reader(HTMLParser):
    """Collects the tags and the text of a page."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.words: list[str] = []
        self.feed(page)
        self.close()

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)

    def handle_data(self, data):
        self.words.append(data)


@pytest.mark.parametrize("text", ODD)
def test_html_shows_what_stands_in_the_cell(text):
    read = Reader(markup.escape(text))
    assert set(read.tags) <= {"span"}
    assert "".join(read.words) == text.replace("\n", " ")
    # a page looks for mathematics in each run of text by itself: none holds more than its one dollar or backslash
    assert all(run in "$\\" or not set(run) & set("$\\") for run in read.words)


@pytest.mark.parametrize("text", ODD)
def test_markdown_has_no_mark_left(text):
    shown = re.sub(r"<span>&#\d+;</span>|&[a-z]+;", "", markup.escape(text, "markdown"))
    assert not re.search(r"(?<!\\)[*_`\[\]()#|!~<>$:@.]", shown), shown
    assert "\n" not in shown


def test_sentences_are_text_unless_the_page_wrote_them_as_markdown():
    caution = tables.said("look at <img src=x onerror=alert(1)> and $x$", ["*a*"])
    assert not hasattr(caution, "_repr_markdown_")
    assert Reader(caution._repr_html_()).tags == ["ul", "li", "span", "span", "li"]
    ours = tables.said("**bold**", markdown=True)
    assert ours._repr_markdown_() == "- **bold**"
    assert not hasattr(ours, "_repr_html_")


def test_a_table_of_words_is_no_mathematics_and_stays_one():
    table = markup.Words({"spot": list(ODD)}).head(4)
    page = table._repr_html_()
    assert "mathjax_ignore" in page.split(">")[1] + page
    assert "<img" not in page
    assert "<script" not in page
