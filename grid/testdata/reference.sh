#!/bin/sh
# Writes frame.tsv, distances.tsv and areas.tsv beside this file: positions,
# projected by two programs independent of this package and of each other, and
# geodesic lengths and areas. Needs GeographicLib's tools and PROJ (Debian
# packages geographiclib-tools 2.1.2 and proj-bin 9.1.1 made the files kept here).
set -eu
cd "$(dirname "$0")"
tmp=$(mktemp -d)
trap 'rm -rf "$tmp"' EXIT

# offsets LAT LON: the datum, then points at five azimuths, 10 km and 30 km off.
offsets() {
	echo "$1 $2"
	for s in 10000 30000; do
		for az in 0 70 90 200 310; do
			echo "$1 $2 $az $s" | GeodSolve -p 9 | cut -d' ' -f1,2
		done
	done
}

{
	echo "# Points around 40 datums: the datum itself, then five azimuths at 10 km and 30 km, made by"
	echo "#   echo LAT0 LON0 AZ S | GeodSolve -p 9"
	echo "# gl_x gl_y, metres from the equator and the meridian:"
	echo "#   echo LAT LON | TransverseMercatorProj -l LON0 -k 1 -p 9"
	echo "# proj_x proj_y, metres from the datum:"
	echo "#   echo LON LAT | cs2cs -f %.10f +proj=longlat +ellps=WGS84 +to +proj=tmerc +lat_0=LAT0 +lon_0=LON0 +k=1 +ellps=WGS84"
	echo "# GeographicLib 2.1.2, PROJ 9.1.1; written by reference.sh"
	printf 'lat0\tlon0\tlat\tlon\tgl_x\tgl_y\tproj_x\tproj_y\n'
	for lat0 in -89 -60 -45 0 10 45 65 80 85 89; do
		for lon0 in -179.999 -75.25 12.5 179.999; do
			offsets $lat0 $lon0 >"$tmp/p"
			TransverseMercatorProj -l $lon0 -k 1 -p 9 <"$tmp/p" | cut -d' ' -f1,2 >"$tmp/g"
			awk '{print $2, $1}' "$tmp/p" | cs2cs -f %.10f +proj=longlat +ellps=WGS84 \
				+to +proj=tmerc +lat_0=$lat0 +lon_0=$lon0 +k=1 +ellps=WGS84 |
				awk '{print $1, $2}' >"$tmp/c"
			paste -d' ' "$tmp/p" "$tmp/g" "$tmp/c" | sed "s/^/$lat0 $lon0 /" | tr ' ' '\t'
		done
	done
} >frame.tsv

{
	echo "# Geodesic lengths in metres of lines about 5 km long. Each end is off metres from the datum on"
	echo "# the azimuth az (a negative offset lies behind it), made by"
	echo "#   echo LAT0 LON0 AZ OFF | GeodSolve -p 9"
	echo "# with the ends listed in reference.sh; s is the third number of"
	echo "#   echo LAT1 LON1 LAT2 LON2 | GeodSolve -i -p 9"
	echo "# Lines through the datum, two sides of a 5 km square about it (side), and the stretch of the"
	echo "# edge of a 20 km square nearest to the east (edge). GeographicLib 2.1.2; written by reference.sh"
	printf 'line\tlat0\tlon0\tlat1\tlon1\tlat2\tlon2\ts\n'
	for lat0 in -89 -60 -45 0 10 45 65 80 85 89; do
		for lon0 in 12.5 179.999; do
			for line in "0,0 0,5000" "30,0 30,5000" "90,0 90,5000" "135,0 135,5000" \
				"0,-2500 0,2500" "60,-2500 60,2500" "90,-2500 90,2500" \
				"side 45,3535.533905932738 135,3535.533905932738" \
				"side 135,3535.533905932738 225,3535.533905932738" \
				"edge 75.96375653207353,10307.764064044152 104.03624346792647,10307.764064044152"; do
				set -- $line
				kind=through
				if [ $# = 3 ]; then
					kind=$1
					shift
				fi
				a=$(echo "$lat0 $lon0 $1" | tr , ' ' | GeodSolve -p 9 | cut -d' ' -f1,2)
				b=$(echo "$lat0 $lon0 $2" | tr , ' ' | GeodSolve -p 9 | cut -d' ' -f1,2)
				s=$(echo "$a $b" | GeodSolve -i -p 9 | cut -d' ' -f3)
				echo "$kind $lat0 $lon0 $a $b $s" | tr ' ' '\t'
			done
		done
	done
} >distances.tsv

# area NAME LAT0 LON0 RADIUS VERTICES TURN: a regular polygon of geodesics.
area() {
	i=0
	: >"$tmp/v"
	while [ $i -lt "$5" ]; do
		az=$(echo "$6 + $i * 360 / $5" | bc -l)
		echo "$2 $3 -$az $4" | GeodSolve -p 9 | cut -d' ' -f1,2 >>"$tmp/v"
		i=$((i + 1))
	done
	a=$(Planimeter -p 9 <"$tmp/v" | cut -d' ' -f3)
	printf '%s\t%s\t%s\t%s\t%s\n' "$1" "$2" "$3" "$a" "$(tr '\n' ';' <"$tmp/v" | sed 's/;$//')"
}

{
	echo "# Areas in square metres of polygons of geodesics, vertices as \"lat lon;lat lon;...\":"
	echo "#   Planimeter -p 9 < one vertex a line (third number)"
	echo "# regular polygons about a datum made with GeodSolve -p 9; km_square follows Planimeter29 of"
	echo "# Karney's test suite (1000 m east, north and west of 0 0), field the small field of 0.002 by 0.001 degrees."
	echo "# GeographicLib 2.1.2; written by reference.sh"
	printf 'name\tlat0\tlon0\tarea\tvertices\n'
	b=$(echo "0 0 90 1000" | GeodSolve -p 9 | cut -d' ' -f1,2)
	c=$(echo "$b 0 1000" | GeodSolve -p 9 | cut -d' ' -f1,2)
	d=$(echo "$c -90 1000" | GeodSolve -p 9 | cut -d' ' -f1,2)
	v="0 0;$b;$c;$d"
	printf 'km_square\t0\t0\t%s\t%s\n' "$(echo "$v" | tr ';' '\n' | Planimeter -p 9 | cut -d' ' -f3)" "$v"
	v="50 -1;50 -0.998;50.001 -0.998;50.001 -1"
	printf 'field\t50.0005\t-0.999\t%s\t%s\n' "$(echo "$v" | tr ';' '\n' | Planimeter -p 9 | cut -d' ' -f3)" "$v"
	for lat0 in -89 -60 -45 0 10 45 65 80 85 89; do
		area plot $lat0 179.999 20 5 10
		area square $lat0 12.5 141.4213562373095 4 45
		area octagon $lat0 -179.999 2500 8 3
	done
} >areas.tsv
