"""Text from a sheet stays text: in HTML, in Markdown, in mathematics of a figure, in every table and legend."""

import re
from html.parser import HTMLParser

import pytest
from matplotlib import cbook, pyplot
from test_plots import DATA, chip_plan, legend_words

import golfphys
from golfphys.show import markup, plots, style, tables

ODD = (
    *("<img src=x onerror=alert(1)>", "<script>alert(1)</script>", "$x_1$", r"$\frac$ and $", r"\(x\)", "_low"),
    *("<low>", "*a*", "[a](javascript:alert(1))", "https://example.org", "a@example.org", "`a` # b | c", "1. first"),
    *("two\nlines", "&lt;b&gt;"),
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
def test_html_shows_what_stands_in_the_cell_and_markdown_has_no_mark_left(text):
    read = Reader(markup.escape(text))
    assert set(read.tags) <= {"span"}
    assert "".join(read.words) == text.replace("\n", " ")
    # a page looks for mathematics in each run of text by itself: none holds more than its one dollar or backslash
    assert all(run in "$\\" or not set(run) & set("$\\") for run in read.words)
    shown = re.sub(r"<span>&#\d+;</span>|&[a-z]+;", "", markup.escape(text, "markdown"))
    assert not re.search(r"(?<!\\)[*_`\[\]()#|!~<>$:@.]", shown), shown
    assert "\n" not in shown


@pytest.mark.parametrize("text", ODD)
def test_figures_show_no_mathematics_and_no_name_is_left_out_of_a_legend(text):
    label = markup.escape(text, "figure")
    assert not cbook.is_math_text(label)
    with style.figure_style():
        ax = style.new_axes(None)
        ax.plot([0, 1], label=label)
        ax.legend()
        ax.figure.canvas.draw()
    assert len(legend_words(ax)) == 1


def test_sentences_are_text_unless_the_page_wrote_them_as_markdown():
    caution = tables.said("look at <img src=x onerror=alert(1)> and $x$", ["*a*"])
    assert not hasattr(caution, "_repr_markdown_")
    assert Reader(caution._repr_html_()).tags == ["ul", "li", "span", "span", "li"]
    ours = tables.said("**bold**", markdown=True)
    assert ours._repr_markdown_() == "- **bold**"
    assert not hasattr(ours, "_repr_html_")


def test_a_table_of_words_is_no_mathematics_and_stays_one_and_an_answer_is_text():
    page = markup.Words({"spot": list(ODD)}).head(4)._repr_html_()
    assert "mathjax_ignore" in page.split(">")[1] + page
    assert "<img" not in page
    assert "<script" not in page
    choice = {"play": "<b>iron</b>", "land it": "4.0 m from the ball"}
    shown = markup.Answered(("sure",), (choice,), "sure", ("<i>care</i>",))._repr_html_()
    assert "&lt;b&gt;iron" in shown
    assert "<i>care" not in shown


@pytest.mark.parametrize("plot", [plots.plot_trajectories, plots.plot_landing_window, plots.plot_rest_spread])
def test_names_of_clubs_are_text_in_pictures_of_a_plan(plot):
    for text in ODD:
        plan = chip_plan()
        for name in ("table", "curves"):
            frame = getattr(plan, name)
            frame["club"] = frame["club"].replace("8-iron", text)
        for held in (plan.trajectories, plan.rest):
            held[text] = held.pop("8-iron")
        plan.shown = list(plan.table["club"])
        ax = plot(plan, clubs=[text])
        shown = [words.split("\n")[0] for words in legend_words(ax)]
        assert markup.escape(text, "figure") in shown
        assert not any(cbook.is_math_text(words) for words in shown)
    ax.figure.canvas.draw()


def test_names_of_spots_are_text_in_pictures_and_tables_of_a_fit():
    texts = [text for text in ODD if "\n" not in text]
    names = [f"{one} {other}" for one, other in zip(texts[:7], reversed(texts[7:]), strict=True)]
    green = golfphys.Green.from_stimp(10.0, grade=0.015)
    truth = golfphys.CourseTruth(greens=dict.fromkeys(names, green))
    design = golfphys.RolloutDesign(release_speeds=(1.83,), repeats=1, side_share=0.0, outliers=0)
    fit = golfphys.fit(golfphys.make_rollouts(truth, design, 5)).rollouts
    shown = [markup.escape(text, "figure") for text in names]
    for name, words in zip(names, shown, strict=True):
        assert words in plots.plot_rollout_fit(fit, name).get_title(loc="left")
        pyplot.close("all")
    ax = plots.plot_green_speeds(fit)
    assert [label.get_text() for label in ax.get_yticklabels()] == shown
    ax.figure.canvas.draw()
    assert set(shown) <= set(legend_words(plots.plot_residuals(fit)))
    for table in (tables.greens(fit), tables.rollouts(fit.sheet)):
        page = table._repr_html_()
        assert "mathjax_ignore" in page
        read = Reader(page)
        assert not {"img", "script", "low", "a", "b"} & set(read.tags)
        assert set(names) <= {words.strip() for words in "".join(read.words).split("\n")}


@pytest.mark.parametrize("kind", ["drops", "chips"])
def test_cells_of_sheets_are_text_in_their_tables(kind):
    sheet = getattr(golfphys, f"read_{kind}")(DATA / "demo" / f"{kind}.csv")
    frame = sheet.frame
    odd = [ODD[number % len(ODD)] for number in range(len(frame))]
    page = getattr(tables, kind)(sheet.replaced(frame.assign(spot=odd)))._repr_html_()
    assert not {"img", "script", "low", "a", "b"} & set(Reader(page).tags)
