from kb.cli.output import page_lines
from kb.reports.health import render
from kb.services.health import HealthList, ShopHealth, WorthALook


def test_lists_stand_below_the_counts_with_what_is_left_out_and_empty_ones_not_at_all() -> None:
    look = WorthALook(jobs=(1, 2), words="clock spring: open")
    health = ShopHealth(
        cautions=("Airbags can fire",),
        jobs=1234,
        open=1,
        waiting=2,
        cases=3,
        from_cards=4,
        unheard=5,
        unproved=6,
        untagged=7,
        lists=(
            HealthList(name="cases without proof", count=12, first=(look,)),
            HealthList(name="names used once", count=0, first=()),
        ),
    )
    told = "\n".join(page_lines(render(health)))
    assert told.startswith("CAUTION  Airbags can fire")
    assert told.index("1,234") < told.index("cases without proof: 12")
    assert "#1 #2  clock spring: open" in told
    assert "and 11 more" in told
    assert "names used once" not in told
