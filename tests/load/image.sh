#!/usr/bin/env bash
# The image without an engine: builds it with buildah on a fresh Debian, and runs it as its own user on a root that
# can't be written to. As root, with debootstrap and buildah from Debian. Loopback only; ends what it started.
#   tests/load/image.sh [port]
set -euo pipefail
cd "$(dirname "$0")/../.."
port=${1:-18080}
export STORAGE_DRIVER=vfs
scratch=$(mktemp -d)
service= container=
trap '[ -z "$service" ] || stop; rm -rf "$scratch"; buildah rmi --force rimpoise-try rimpoise-try-base >/dev/null 2>&1 || true' EXIT

echo "== base: Debian bookworm with its own Python"
debootstrap --variant=minbase --include=python3,python3-venv,ca-certificates bookworm "$scratch/base" >"$scratch/log"
cp /etc/ssl/certs/ca-certificates.crt "$scratch/base/etc/ssl/certs/"
tar --create --file "$scratch/base.tar" --directory "$scratch/base" .
printf 'FROM scratch\nADD base.tar /\n' >"$scratch/Dockerfile"
buildah bud --quiet --isolation chroot --tag rimpoise-try-base "$scratch" >/dev/null

echo "== build: docker/Dockerfile"
buildah bud --quiet --format docker --isolation chroot --network host --build-arg BASE=localhost/rimpoise-try-base \
    --env PIP_CERT=/etc/ssl/certs/ca-certificates.crt --file docker/Dockerfile --tag rimpoise-try . >/dev/null
buildah images --format '{{.Name}} {{.Size}}' | grep rimpoise-try

echo "== run: uid 10001, read-only root, /run/rimpoise and /dev/shm in memory"
container=$(buildah from localhost/rimpoise-try)
root=$(buildah mount "$container")
# shellcheck disable=SC2016 # expanded by the inner shell
unshare --mount bash -euo pipefail -c '
    mount --bind "$1" "$1"
    mount -t tmpfs -o uid=10001,gid=10001,mode=0700,size=64m tmpfs "$1/run/rimpoise"
    mkdir -p "$1/dev/shm" && mount -t tmpfs tmpfs "$1/dev/shm"
    touch "$1/dev/null" && mount --bind /dev/null "$1/dev/null"
    touch "$1/dev/urandom" && mount --bind /dev/urandom "$1/dev/urandom"
    mount -o remount,bind,ro "$1"
    exec env -i PATH=/opt/rimpoise/bin:/usr/bin:/bin TMPDIR=/run/rimpoise PYTHONDONTWRITEBYTECODE=1 \
        OPENBLAS_NUM_THREADS=1 ${OPENBLAS_CORETYPE:+OPENBLAS_CORETYPE=$OPENBLAS_CORETYPE} \
        RIMPOISE_BIND="127.0.0.1:$2" RIMPOISE_OPERATOR_BIND="127.0.0.1:$(($2 + 1))" RIMPOISE_DRAIN_FILE=/run/rimpoise/drain \
        /usr/sbin/chroot --userspec=10001:10001 "$1" \
        gunicorn --config /etc/rimpoise/gunicorn.conf.py rimpoise_service.wsgi:app' - "$root" "$port" 2>"$scratch/log" &
service=$!
stop() {
    kill -TERM "$service" 2>/dev/null || true
    wait "$service" || true
    service=
    buildah umount "$container" >/dev/null
    buildah rm "$container" >/dev/null
}
for _ in $(seq 100); do curl --silent --fail "http://127.0.0.1:$port/readyz" && break; sleep 0.1; done || { cat "$scratch/log"; exit 1; }
echo
curl --silent --fail "http://127.0.0.1:$port/version"; echo
sleep 2  # until the workers have reported
curl --silent --fail "http://127.0.0.1:$((port + 1))/metrics" | grep --count rimpoise_
curl --silent --fail "http://127.0.0.1:$port/docs" | grep --count swagger
curl --silent --fail --header 'Content-Type: application/json' --data '{
    "reading": {"kind": "static", "plane": {
        "kind": "position", "position_mm": -120, "radius_mm": 216, "mass_g": 25, "angle_deg": 70}},
    "planes": [{"name": "inner land", "position_mm": -110, "radius_mm": 198}]}' \
    "http://127.0.0.1:$port/v1/corrections"; echo
grep Uid "/proc/$service/status"
if chroot --userspec=10001:10001 "$root" sh -c 'command -v pip || command -v gcc'; then echo "a build tool is there"; fi
started=$(date +%s%N); stop
echo "stopped $(( ($(date +%s%N) - started) / 1000000 )) ms after SIGTERM; last lines of its log:"
tail -n 2 "$scratch/log"
