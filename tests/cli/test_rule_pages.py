from reach.cli.rule_pages import rule_pages


def test_every_rule_once_with_the_first_line_of_its_page():
    pages = rule_pages()
    assert len({page.id for page in pages}) == len(pages)
    assert all(page.page.startswith(f"{page.summary}\n") for page in pages)
    assert [page.of_world for page in pages] == sorted(page.of_world for page in pages)
    of_world = {page.id: page.of_world for page in pages}
    assert (of_world["softlock"], of_world["one-way-trap"]) == (False, True)
