# The grower bulletin. Numbers arrive written out with their units; { $n } alone is a count.

## Headings

heading-question = The question
heading-answer = The answer
heading-why = Why it matters
heading-done = What was done
heading-table = The results side by side
heading-figures = The results in pictures
heading-balance = Are the vines in balance?
heading-money = Money
heading-limits = What this trial does not tell
heading-cautions = Before you change your pruning
heading-ask = Who to ask
heading-glossary = Words used here

## Before the answer

for-audience = For { $audience }.

## What was measured

what-yield = the crop
what-yield-space = the crop, gaps counted
what-pruning-weight = the weight of the prunings
what-clusters = the number of clusters
what-berry-weight = berry weight
what-berry-count = the number of berries in a cluster
what-brix = sugar in the grapes
what-ph = the pH of the juice
what-acidity = the acid in the juice
what-canes = the number of canes
what-nodes = the number of nodes left
what-shoots = the number of shoots
what-bud-break = bud break
what-bud-survival = the share of live buds
what-leaf-area = leaf area
what-labour = pruning time
what-balance-ravaz = crop per weight of prunings
what-balance-canopy = prunings per length of canopy
what-cane-weight = cane weight
what-cluster-weight = cluster weight
what-net = money left after the costs that differ

column-yield = Crop
column-yield-space = Crop, gaps counted
column-pruning-weight = Prunings
column-clusters = Clusters
column-berry-weight = Berry weight
column-berry-count = Berries a cluster
column-brix = Sugar
column-ph = pH
column-acidity = Acid
column-canes = Canes
column-nodes = Nodes left
column-shoots = Shoots
column-bud-break = Bud break
column-bud-survival = Live buds
column-leaf-area = Leaf area
column-labour = Pruning time
column-balance-ravaz = Crop to prunings
column-balance-canopy = Prunings to canopy
column-cane-weight = Cane weight
column-cluster-weight = Cluster weight
column-net = Money left
column-treatment = Pruned to

## Units

unit-t-ha = t/ha
unit-tons-acre = tons/acre
unit-kg-vine = kg/vine
unit-lb-vine = lb/vine
unit-kg-m = kg/m
unit-lb-ft = lb/ft
unit-g = g
unit-oz = oz
unit-g-l = g/L
unit-brix = °Brix
unit-percent = %
unit-points = percentage points
unit-min-vine = min/vine
unit-h-ha = h/ha
unit-h-acre = h/acre
unit-clusters-vine = clusters/vine
unit-shoots-vine = shoots/vine
unit-canes-vine = canes/vine
unit-nodes-vine = nodes/vine
unit-shoots-m = shoots/m
unit-shoots-ft = shoots/ft
unit-m2-kg = m²/kg
unit-ft2-lb = ft²/lb

both-units = { $first } ({ $second })
span = { $low } to { $high }

## Treatments

treatment-nodes = { $n } nodes a vine
treatment-quantity = { $n } { $unit }
treatment-number = { $label } { $n }
treatments-together = { $first }, { $second }

## The answer

season-average =
    { $n ->
        [one] In one season
       *[other] Averaged over { $n } seasons
    }
season-single = In this trial

answer-clear =
    { $direction ->
        [more] { $when } at one site, { $what } was about { $amount } { $longer ->
            [yes] longer
           *[no] higher
        } with { $treatment } than with { $control } (likely { $range }).
       *[less] { $when } at one site, { $what } was about { $amount } { $longer ->
            [yes] shorter
           *[no] lower
        } with { $treatment } than with { $control } (likely { $range }).
    }
answer-hint = { $when } at one site, there are signs, but no proof, that { $what } was { $direction ->
        [more] higher
       *[less] lower
    } with { $treatment } than with { $control }: by about { $amount } (likely { $range }).
answer-unclear = { $when } at one site, we found no clear difference in { $what } between { $treatment } and { $control }: with { $treatment } it may be { $bounds }.
answer-same = { $when } at one site, { $what } was about the same with { $treatment } as with { $control }: the likely range, { $bounds }, lies inside the { $band } that counts as the same here.
answer-years-all =
    { $direction ->
        [more] In each of { $n } seasons at one site, { $what } was { $longer ->
            [yes] longer
           *[no] higher
        } with { $treatment } than with { $control }: by about { $least } in { $leastyear } (likely { $leastrange }), and by about { $most } in { $mostyear } (likely { $mostrange }).
       *[less] In each of { $n } seasons at one site, { $what } was { $longer ->
            [yes] shorter
           *[no] lower
        } with { $treatment } than with { $control }: by about { $least } in { $leastyear } (likely { $leastrange }), and by about { $most } in { $mostyear } (likely { $mostrange }).
    }
answer-years-mixed = How { $what } with { $treatment } stood beside { $control } changed with the season, at one site: { $years }.

year-clear = { $direction ->
        [more] about { $amount } more in { $year } (likely { $range })
       *[less] about { $amount } less in { $year } (likely { $range })
    }
year-unclear = no clear difference in { $year } ({ $bounds })

bounds-across = { $low } less to { $high } more
bounds-above = { $low } to { $high } more
bounds-below = { $low } to { $high } less

answer-none = The report has no result that could be told in one sentence; the full report says why.

sure-strong = How sure is this? The whole likely range is far from zero, so the evidence is strong.
sure-clear = How sure is this? The likely range does not reach zero, so there is a difference, but it may be a good deal smaller than it looks.
sure-hint = How sure is this? A gap like this can come up by chance when so many treatments are held side by side, so do not build on it.
sure-unclear = How sure is this? The likely range goes from less to more. That does not mean that there is no difference: the trial could not tell.
sure-same = How sure is this? The likely range is narrow and stays inside the limits that were set.
sure-years = How sure is this? The size changed from season to season by more than chance, so look at each season and do not trust the average.

also-lead = What else changed from { $control } to { $treatment }?
also-line = { $name }: { $phrase }.
also-clear = { $direction ->
        [more] about { $amount } more (likely { $range })
       *[less] about { $amount } less (likely { $range })
    }
also-unclear = no clear difference (likely { $bounds })
also-same = about the same (likely { $bounds })
also-years = { $bounds }, by season
also-years-unclear = not the same in each season ({ $bounds })
also-levels = Beside { $control }, { $what } was:
level-clear = { $direction ->
        [more] about { $amount } more with { $treatment } (likely { $range })
       *[less] about { $amount } less with { $treatment } (likely { $range })
    }
level-unclear = not clearly different with { $treatment } (likely { $bounds })
level-same = about the same with { $treatment } (likely { $bounds })
level-years = { $bounds } with { $treatment }, by season
level-years-unclear = not the same in each season with { $treatment } ({ $bounds })

interaction-note = The best choice of one depended on the other, so each mix of { $factors } is shown by itself.
no-interaction-note = We saw no clear sign that { $factors } changed each other's effect, so each is shown by itself.

## Why it matters

why-nodes = Each node left at pruning can grow a shoot with fruit. More nodes can mean more crop this year. But each shoot then gets less, so grapes may ripen late and the wood for next year may be weak. Too few nodes waste what the vine could bear.
why-system = A training system sets how many buds a vine can carry and how light gets to its fruit. It also sets how long the work takes. It is dear to change, so it pays to know what it gives.
why-general = Pruning sets how much a vine can bear, how well that ripens and how much wood grows for next year. It is also one of the largest jobs of the winter.

## What was done

done-ways = { $factor }: { $levels }.
done-ways-control = { $factor }: { $levels }. All are held beside { $control }.
done-plots =
    { $blocks ->
        [0] There were { $plots } plots, and chance decided which plot was pruned in which way.
       *[other] There were { $plots } plots in { $blocks } blocks. Inside each block, chance decided which plot was pruned in which way.
    }
done-plots-split = There were { $plots } plots in { $blocks } blocks. Inside each block, chance decided which part got which way.
done-vines = Each plot had { $n } vines.
done-vines-range = Each plot had { $low } to { $high } vines.
done-seasons =
    { $n ->
        [one] We recorded it in one season, { $first }.
       *[other] We recorded the same plots in { $n } seasons, { $first } to { $last }.
    }
done-spacing = Rows are { $row } apart and vines { $vine }: { $density }.
done-density = { $ha } vines per hectare, { $acre } per acre

about-site = Site
about-variety = Variety
about-rootstock = Rootstock
about-training = Training
about-planted = Planted
about-soil = Soil
about-line = { $name }: { $text }

## Table and figures

table-title = Means over { $n ->
        [one] one season
       *[other] { $n } seasons
    }
table-title-single = Means of each way of pruning
table-units = The first number is in the first unit of the heading, the one in brackets in the second.
table-control = the one the others are held beside
table-least = In the first column of numbers, two ways of pruning must differ by about { $amount } or more before we would call it clear.
table-years = The means hide that the seasons differed: see the picture of each season.

figure-means = { $what } for each way of pruning. Points are means; the bars show the likely range of each mean.
figure-years = { $what } in each season. Points are means; the bars show the likely range of each mean.
figure-unit-note = { $one } is { $other }.
figure-alt-value = { $treatment }: { $amount }
figure-alt = { $what }: { $values }.
figure-season = Season

## Balance

balance-ravaz = Crop per weight of prunings tells if vines carry too much or too little fruit for their growth. It is the same number in kilograms and in pounds.
balance-canopy = The weight of prunings along the wire tells if vines grow too strongly or too weakly for their space.
balance-range = A published range for { $canopy } is { $range }.
balance-line = { $treatment }: { $amount } (likely { $span }), { $place }.
balance-below = below that range
balance-above = above that range
balance-inside = inside that range
balance-low-edge = at the lower edge of that range
balance-high-edge = at the upper edge of that range
balance-wide = wider than that range on both sides
balance-none = no published range was found for this canopy
balance-caution = Such ranges come from other vineyards. Use them as a guide, not as a rule.
balance-source = Source: { $text }
balance-missing = Crop and prunings of the same season were not both recorded, so this trial cannot say.

canopy-single = single canopies
canopy-divided = divided canopies
canopy-minimal = vines with minimal pruning
canopy-hedged = vines hedged by machine
canopy-free = free-standing vines

## Money

money-none = No prices were given, so this page counts no money. A gain in crop is not a gain in income until you take off what it costs.
money-clear = With the prices given, { $treatment } left about { $amount } { $direction ->
        [more] more
       *[less] less
    } a season than { $control } (likely { $range }).
money-unclear = With the prices given, it is not clear which of { $treatment } and { $control } left more money: { $treatment } may leave { $bounds } a season.
money-caution = These sums hold for these prices and these seasons only. Put in your own, and ask an accountant before you spend.

## Limits

limits-site =
    { $n ->
        [one] It is one site and one season. Another site, another year, another variety or another rootstock may give another answer.
       *[other] It is one site and { $n } seasons. Another site, other years, another variety or another rootstock may give another answer.
    }
limits-least = It could not see small gaps. For { $factor }, a gap in { $what } of less than about { $amount } would not have been clear.
limits-years = The answer changed with the season for { $what }, so an average over the seasons may mislead.
limits-unmeasured = It did not measure { $things }.
limits-cause = It cannot say what happens to vines after more years of the same pruning.
unmeasured-survival = how buds live through winter
unmeasured-labour = how long the work takes
unmeasured-ripeness = how ripe the grapes were
unmeasured-prunings = how much the vines grew

## Cautions

caution-rows = Change a few rows first. Watch them for two seasons or more before you change a block.
caution-first = The first crop after you leave more nodes often looks better than later ones. Vines then live on what they had stored, and on buds formed under the old pruning.
caution-winter = A hard winter kills buds. Cut open 50 to 100 buds before the final pruning, and leave more nodes if many are dead.
caution-frost = Spring frost can take young shoots. Late or double pruning holds back the lower buds by days only. It does not make a frosty site safe.
caution-tools = Pruning tools cut. Wear gloves and eye protection, lock powered shears before you clear them, and keep clear of each other.
caution-wounds = Pruning wounds let in trunk disease. Do not cut in wet weather, and guard large wounds.
caution-label = Use a product on wounds only if it is registered for grapes where you farm. The label is the law: follow it for protective clothing and for waiting times. This page recommends no product.
caution-adviser = Talk it over with your local extension office or a licensed adviser.
caution-contract = Check your contracts and local rules: some limit yield or training. Ask an accountant before you spend on a trellis.

## Who to ask

ask-local = Your local extension office knows your climate, your soils and your rules.
ask-adviser = A licensed pest adviser can tell you what is registered for wounds and how to use it.
ask-accountant = An accountant can work out the costs for your farm.
ask-report = The full report of this trial has every number behind this page.

## Words used here

term-range = likely range
term-range-text = The numbers between which the true value probably lies. We use { $level } ranges: of a hundred made like this, about { $hits } hold the true value.
term-node = node
term-node-text = A place on a cane with a bud that can grow a shoot.
term-brix = °Brix
term-brix-text = The sugar in the juice: about one gram in 100 grams for each degree.
term-prunings = prunings
term-prunings-text = The one-year-old wood cut off in the winter after a harvest, weighed fresh.
term-balance = crop per weight of prunings
term-balance-text = The weight of the crop divided by the weight of the prunings of the same season. It is also called the Ravaz index.
term-block = block
term-block-text = A part of the vineyard that is much the same all over, with each way of pruning in it.
term-plot = plot
term-plot-text = A group of vines side by side that are all pruned alike.
term-ton = ton
term-ton-text = Here a US ton of 2,000 pounds; t is a tonne of 1,000 kilograms.
