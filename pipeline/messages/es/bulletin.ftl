# El boletín para viticultores. Los números llegan escritos con sus unidades; { $n } solo es una cuenta.

## Títulos

heading-question = La pregunta
heading-answer = La respuesta
heading-why = Por qué importa
heading-done = Qué se hizo
heading-table = Los resultados, uno junto a otro
heading-figures = Los resultados en imágenes
heading-balance = ¿Están equilibradas las cepas?
heading-money = Dinero
heading-limits = Lo que este ensayo no dice
heading-cautions = Antes de cambiar su poda
heading-ask = A quién preguntar
heading-glossary = Palabras usadas aquí

## Antes de la respuesta

for-audience = Para { $audience }.

## Lo que se midió

what-yield = la cosecha
what-yield-space = la cosecha, contando las marras
what-pruning-weight = el peso de la madera de poda
what-clusters = el número de racimos
what-berry-weight = el peso de la baya
what-berry-count = el número de bayas por racimo
what-brix = el azúcar de la uva
what-ph = el pH del mosto
what-acidity = la acidez del mosto
what-canes = el número de sarmientos
what-nodes = el número de yemas dejadas
what-shoots = el número de brotes
what-bud-break = la brotación
what-bud-survival = la parte de yemas vivas
what-leaf-area = la superficie de hojas
what-labour = el tiempo de poda
what-balance-ravaz = la cosecha por peso de madera de poda
what-balance-canopy = la madera de poda por largo de vegetación
what-cane-weight = el peso del sarmiento
what-cluster-weight = el peso del racimo
what-net = el dinero que queda tras los costos que cambian

column-yield = Cosecha
column-yield-space = Cosecha con marras
column-pruning-weight = Madera de poda
column-clusters = Racimos
column-berry-weight = Peso de la baya
column-berry-count = Bayas por racimo
column-brix = Azúcar
column-ph = pH
column-acidity = Acidez
column-canes = Sarmientos
column-nodes = Yemas dejadas
column-shoots = Brotes
column-bud-break = Brotación
column-bud-survival = Yemas vivas
column-leaf-area = Superficie de hojas
column-labour = Tiempo de poda
column-balance-ravaz = Cosecha por madera de poda
column-balance-canopy = Madera de poda por vegetación
column-cane-weight = Peso del sarmiento
column-cluster-weight = Peso del racimo
column-net = Dinero que queda
column-treatment = Poda

## Unidades

unit-t-ha = t/ha
unit-tons-acre = toneladas de EE. UU./acre
unit-kg-vine = kg/cepa
unit-lb-vine = lb/cepa
unit-kg-m = kg/m
unit-lb-ft = lb/pie
unit-g = g
unit-oz = oz
unit-g-l = g/L
unit-brix = °Brix
unit-percent = %
unit-points = puntos porcentuales
unit-min-vine = min/cepa
unit-h-ha = h/ha
unit-h-acre = h/acre
unit-clusters-vine = racimos/cepa
unit-shoots-vine = brotes/cepa
unit-canes-vine = sarmientos/cepa
unit-nodes-vine = yemas/cepa
unit-shoots-m = brotes/m
unit-shoots-ft = brotes/pie
unit-m2-kg = m²/kg
unit-ft2-lb = pie²/lb

both-units = { $first } ({ $second })
span = { $low } a { $high }

## Tratamientos

treatment-nodes = { $n } yemas por cepa
treatment-quantity = { $n } { $unit }
treatment-number = { $label } { $n }
treatments-together = { $first }, { $second }

## La respuesta

season-average =
    { $n ->
        [one] En una campaña
       *[other] En promedio de { $n } campañas
    }
season-single = En este ensayo

answer-clear =
    { $direction ->
        [more] { $when } en un solo sitio, { $what } fue { $longer ->
            [yes] más largo
           *[no] mayor
        } con { $treatment } que con { $control }: en unos { $amount } (probable: { $range }).
       *[less] { $when } en un solo sitio, { $what } fue { $longer ->
            [yes] más corto
           *[no] menor
        } con { $treatment } que con { $control }: en unos { $amount } (probable: { $range }).
    }
answer-hint = { $when } en un solo sitio, hay indicios, pero no pruebas, de que { $what } fue { $direction ->
        [more] mayor
       *[less] menor
    } con { $treatment } que con { $control }: en unos { $amount } (probable: { $range }).
answer-unclear = { $when } en un solo sitio, no hallamos una diferencia clara en { $what } entre { $treatment } y { $control }: con { $treatment } puede ser { $bounds }.
answer-same = { $when } en un solo sitio, { $what } fue más o menos igual con { $treatment } que con { $control }: el intervalo probable, { $bounds }, queda dentro del margen de { $band } que aquí cuenta como igual.
answer-years-all =
    { $direction ->
        [more] En cada una de { $n } campañas en un solo sitio, { $what } fue { $longer ->
            [yes] más largo
           *[no] mayor
        } con { $treatment } que con { $control }: en unos { $least } en { $leastyear } (probable: { $leastrange }) y en unos { $most } en { $mostyear } (probable: { $mostrange }).
       *[less] En cada una de { $n } campañas en un solo sitio, { $what } fue { $longer ->
            [yes] más corto
           *[no] menor
        } con { $treatment } que con { $control }: en unos { $least } en { $leastyear } (probable: { $leastrange }) y en unos { $most } en { $mostyear } (probable: { $mostrange }).
    }
answer-years-mixed = En un solo sitio, la diferencia en { $what } entre { $treatment } y { $control } cambió con la campaña: { $years }.
answer-none = El informe no tiene un resultado que se pueda decir en una frase; el informe completo dice por qué.

year-clear = { $direction ->
        [more] unos { $amount } más en { $year } (probable: { $range })
       *[less] unos { $amount } menos en { $year } (probable: { $range })
    }
year-unclear = sin diferencia clara en { $year } ({ $bounds })

bounds-across = de { $low } menos a { $high } más
bounds-above = de { $low } a { $high } más
bounds-below = de { $low } a { $high } menos

sure-strong = ¿Qué tan seguro es? Todo el intervalo probable queda lejos de cero, así que la prueba es fuerte.
sure-clear = ¿Qué tan seguro es? El intervalo probable no llega a cero: hay una diferencia, pero puede ser bastante menor de lo que parece.
sure-hint = ¿Qué tan seguro es? Cuando se comparan tantos tratamientos, una diferencia así puede salir por azar. No se apoye en ella.
sure-unclear = ¿Qué tan seguro es? El intervalo probable va de menos a más. Eso no quiere decir que no haya diferencia: el ensayo no pudo verla.
sure-same = ¿Qué tan seguro es? El intervalo probable es estrecho y queda dentro de los límites fijados.
sure-years = ¿Qué tan seguro es? El tamaño cambió de una campaña a otra más de lo que cambia por azar. Mire cada campaña y no se fíe del promedio.

also-lead = ¿Qué más cambió de { $control } a { $treatment }?
also-line = { $name }: { $phrase }.
also-clear = { $direction ->
        [more] unos { $amount } más (probable: { $range })
       *[less] unos { $amount } menos (probable: { $range })
    }
also-unclear = sin diferencia clara (probable: { $bounds })
also-same = más o menos igual (probable: { $bounds })
also-years = { $bounds }, según la campaña
also-years-unclear = distinto en cada campaña ({ $bounds })
also-levels = Frente a { $control }, { $what } fue:
level-clear = { $direction ->
        [more] unos { $amount } mayor con { $treatment } (probable: { $range })
       *[less] unos { $amount } menor con { $treatment } (probable: { $range })
    }
level-unclear = sin diferencia clara con { $treatment } (probable: { $bounds })
level-same = más o menos igual con { $treatment } (probable: { $bounds })
level-years = { $bounds } con { $treatment }, según la campaña
level-years-unclear = distinto en cada campaña con { $treatment } ({ $bounds })

interaction-note = Lo mejor de uno dependió del otro, así que cada combinación de { $factors } se muestra por separado.
no-interaction-note = No vimos señales claras de que { $factors } cambiaran el efecto uno del otro, así que cada uno se muestra por separado.

## Por qué importa

why-nodes = Cada yema que se deja en la poda puede dar un brote con fruta. Más yemas pueden dar más cosecha este año. Pero entonces cada brote recibe menos: la uva puede madurar tarde y la madera del año que viene puede quedar débil. Con pocas yemas se pierde lo que la cepa podría dar.
why-system = El sistema de conducción fija cuántas yemas puede llevar una cepa y cuánta luz llega a la fruta. También fija cuánto tarda el trabajo. Cambiarlo es caro, así que conviene saber qué da.
why-general = La poda fija cuánto puede dar una cepa, cómo madura la uva y cuánta madera crece para el año siguiente. Es también uno de los trabajos más largos del invierno.

## Qué se hizo

done-ways = { $factor }: { $levels }.
done-ways-control = { $factor }: { $levels }. Todo se compara con { $control }.
done-plots =
    { $blocks ->
        [0] Hubo { $plots } parcelas, y la suerte decidió cómo se podó cada una.
       *[other] Hubo { $plots } parcelas en { $blocks } bloques. Dentro de cada bloque, la suerte decidió cómo se podó cada parcela.
    }
done-plots-split = Hubo { $plots } parcelas en { $blocks } bloques. Dentro de cada bloque, la suerte decidió qué parte se podó de qué modo.
done-vines = Cada parcela tuvo { $n } cepas.
done-vines-range = Cada parcela tuvo de { $low } a { $high } cepas.
done-seasons =
    { $n ->
        [one] Se anotó en una campaña, { $first }.
       *[other] Las mismas parcelas se anotaron en { $n } campañas, de { $first } a { $last }.
    }
done-spacing = Las filas están a { $row } y las cepas a { $vine }: { $density }.
done-density = { $ha } cepas por hectárea, { $acre } por acre

about-site = Lugar
about-variety = Variedad
about-rootstock = Portainjerto
about-training = Conducción
about-planted = Plantación
about-soil = Suelo
about-line = { $name }: { $text }

## Tabla y figuras

table-title = Medias de { $n ->
        [one] una campaña
       *[other] { $n } campañas
    }
table-title-single = Medias de cada modo de podar
table-units = El primer número está en la primera unidad del título; el que va entre paréntesis, en la segunda.
table-control = con el que se comparan los demás
table-least = En la primera columna de números, dos modos de podar deben diferir en unos { $amount } o más para que lo llamemos claro.
table-years = Las medias ocultan que las campañas fueron distintas: vea la figura de cada campaña.

figure-means = { $what } con cada modo de podar. Los puntos son medias; las barras muestran el intervalo probable de cada media.
figure-years = { $what } en cada campaña. Los puntos son medias; las barras muestran el intervalo probable de cada media.
figure-unit-note = { $one } es { $other }.
figure-alt-value = { $treatment }: { $amount }
figure-alt = { $what }: { $values }.
figure-season = Campaña

## Equilibrio

balance-ravaz = La cosecha por peso de madera de poda dice si las cepas llevan demasiada o muy poca fruta para su vigor. El número es el mismo en kilogramos y en libras.
balance-canopy = El peso de la madera de poda a lo largo del alambre dice si las cepas crecen demasiado o muy poco para su espacio.
balance-range = Un intervalo publicado para { $canopy } es { $range }.
balance-line = { $treatment }: { $amount } (probable: { $span }), { $place }.
balance-below = por debajo de ese intervalo
balance-above = por encima de ese intervalo
balance-inside = dentro de ese intervalo
balance-low-edge = en el borde inferior de ese intervalo
balance-high-edge = en el borde superior de ese intervalo
balance-wide = más ancho que ese intervalo por ambos lados
balance-none = no se halló un intervalo publicado para esta vegetación
balance-caution = Esos intervalos vienen de otros viñedos. Úselos como guía, no como regla.
balance-source = Fuente: { $text }
balance-missing = La cosecha y la madera de poda de la misma campaña no se anotaron ambas, así que este ensayo no puede decirlo.

canopy-single = vegetación simple
canopy-divided = vegetación dividida
canopy-minimal = cepas con poda mínima
canopy-hedged = cepas podadas a máquina en seto
canopy-free = cepas libres, sin espaldera

## Dinero

money-none = No se dieron precios, así que esta página no cuenta dinero. Más cosecha no es más ingreso hasta que se resta lo que cuesta.
money-clear = Con los precios dados, { $treatment } dejó unos { $amount } { $direction ->
        [more] más
       *[less] menos
    } por campaña que { $control } (probable: { $range }).
money-unclear = Con los precios dados, no está claro si { $treatment } o { $control } dejó más dinero: { $treatment } puede dejar { $bounds } por campaña.
money-caution = Estas sumas valen solo para estos precios y estas campañas. Ponga los suyos y pregunte a un contador antes de gastar.

## Límites

limits-site =
    { $n ->
        [one] Es un sitio y una campaña. Otro sitio, otro año, otra variedad u otro portainjerto pueden dar otra respuesta.
       *[other] Es un sitio y { $n } campañas. Otro sitio, otros años, otra variedad u otro portainjerto pueden dar otra respuesta.
    }
limits-least = No pudo ver diferencias pequeñas. Para { $factor }, una diferencia en { $what } de menos de unos { $amount } no habría sido clara.
limits-years = La respuesta cambió con la campaña para { $what }, así que un promedio de las campañas puede engañar.
limits-unmeasured = No midió { $things }.
limits-cause = No puede decir qué pasa con las cepas tras más años de la misma poda.
unmeasured-survival = cómo pasan las yemas el invierno
unmeasured-labour = cuánto tarda el trabajo
unmeasured-ripeness = cuánto maduró la uva
unmeasured-prunings = cuánto crecieron las cepas

## Precauciones

caution-rows = Cambie primero unas pocas filas. Obsérvelas dos campañas o más antes de cambiar un cuartel.
caution-first = La primera cosecha tras dejar más yemas suele verse mejor que las siguientes. Las cepas viven entonces de sus reservas y de yemas formadas con la poda anterior.
caution-winter = Un invierno duro mata yemas. Corte de 50 a 100 yemas para ver cuántas viven antes de la poda final, y deje más si hay muchas muertas.
caution-frost = La helada de primavera puede quemar los brotes jóvenes. La poda tardía o en dos pasadas retrasa las yemas de abajo solo unos días. No hace seguro un sitio de heladas.
caution-tools = Las herramientas de poda cortan. Use guantes y gafas, bloquee las tijeras eléctricas antes de limpiarlas y guarde distancia con los demás.
caution-wounds = Por las heridas de poda entran las enfermedades de la madera. No corte con tiempo húmedo y proteja las heridas grandes.
caution-label = Use un producto para heridas solo si está registrado para vid donde usted cultiva. La etiqueta es la ley: sígala en la ropa de protección y en los plazos. Esta página no recomienda ningún producto.
caution-adviser = Háblelo con su oficina local de extensión o con un asesor autorizado.
caution-contract = Revise sus contratos y las reglas locales: algunos limitan la cosecha o la conducción. Pregunte a un contador antes de gastar en una espaldera.

## A quién preguntar

ask-local = Su oficina local de extensión conoce su clima, sus suelos y sus reglas.
ask-adviser = Un asesor autorizado en plagas puede decirle qué está registrado para las heridas y cómo usarlo.
ask-accountant = Un contador puede calcular los costos de su finca.
ask-report = El informe completo de este ensayo tiene todos los números de esta página.

## Palabras usadas aquí

term-range = intervalo probable
term-range-text = Los números entre los que probablemente está el valor verdadero. Usamos intervalos del { $level }: de cien hechos así, unos { $hits } contienen el valor verdadero.
term-node = yema
term-node-text = El punto del sarmiento o del pulgar de donde puede salir un brote.
term-brix = °Brix
term-brix-text = El azúcar del mosto: cerca de un gramo en 100 gramos por cada grado.
term-prunings = madera de poda
term-prunings-text = Los sarmientos de un año que se cortan en el invierno tras una vendimia, pesados frescos.
term-balance = cosecha por peso de madera de poda
term-balance-text = El peso de la cosecha dividido por el de la madera de poda de la misma campaña. Se llama también índice de Ravaz.
term-block = bloque
term-block-text = Una parte del viñedo que es pareja, con todos los modos de podar dentro.
term-plot = parcela
term-plot-text = Un grupo de cepas vecinas podadas todas igual.
term-ton = tonelada
term-ton-text = t es una tonelada de 1000 kilogramos; la tonelada de EE. UU. tiene 2000 libras, o 907 kilogramos.
