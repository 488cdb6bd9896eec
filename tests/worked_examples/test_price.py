"""Published mark-up chains, computed by our own functions. The source is named beside each."""

from decimal import Decimal

from takeoff.price.markup import chain, money, percent_of

D = Decimal


def test_quotation_chain_for_100_m2_of_plaster() -> None:
    """WE26: civilatwork.blogspot.com/2019/09/how-to-calculate-internal-plaster.html.

    Prime cost 7768; tools 1 %, water 2 %, overheads and profit 25 %, each on the running total.
    """
    prime = D("10.5") * 250 + D("1.472") * 1300 + 550 + 8 * 200 + 12 * 90
    # The source prints 7768 for this sum (10.5 bags at 250, sand at 1300, scaffold, masons, helpers: 7768.60).
    assert abs(prime - 7768) < 1
    tools, water, profit = chain(D(7768), [("tools", D(1), None), ("water", D(2), None), ("overheads", D(25), None)])
    assert tools.total == D("7845.68")
    assert water.amount == D("156.91")
    assert water.total == D("8002.59")
    assert profit.amount == D("2000.65")
    # 8002.59 + 2000.65 = 10003.24; the source prints 10003.23 because it carries more decimals.
    assert abs(profit.total - D("10003.23")) <= D("0.01")
    assert money(profit.total / 100) == D("100.03")


def test_rate_build_up_per_10_m2() -> None:
    """WE27: CPWD Delhi Analysis of Rates, sub-head 13: water 1 %, contractor's profit and overheads 15 %."""
    water, profit = chain(D("366.82"), [("water", D(1), None), ("profit and overheads", D(15), None)])
    assert water.total == D("370.49")
    assert profit.amount == D("55.57")
    assert profit.total == D("426.06")
    # Per m2 the source prints 42.60, cut off rather than rounded.
    assert money(profit.total / 10) == D("42.61")


def test_both_percentages_on_the_same_sum() -> None:
    """WE29: myengineeringsupport.com: 5 % and 1 % both on 1260, so the order here is sums, not a running chain."""
    with_wastage = percent_of(D(1200), D(105))
    assert with_wastage == D(1260)
    carried, safe = chain(
        with_wastage,
        [
            ("transport and tools", None, percent_of(with_wastage, D(5))),
            ("safety", None, percent_of(with_wastage, D(1))),
        ],
    )
    assert carried.total == D(1323)
    assert safe.total == D("1335.60")


def test_the_order_of_percentages_is_kept() -> None:
    """A percentage after a fixed sum counts on that sum too; before it, it does not (arithmetic)."""
    after = chain(D(100), [("sum", None, D(50)), ("ten", D(10), None)])[-1].total
    before = chain(D(100), [("ten", D(10), None), ("sum", None, D(50))])[-1].total
    assert (after, before) == (D("165.00"), D("160.00"))
