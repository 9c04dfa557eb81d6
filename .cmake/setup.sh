# SPDX-License-Identifier: GPL-3.0-or-later
# Shared by app/run and tests/run: installs missing Debian packages, configures, builds.
set -euo pipefail
root=$(cd "$(dirname "${BASH_SOURCE[0]}")/.." && pwd)
cd "$root"

say() { printf 'edamori: %s\n' "$*" >&2; }

build_packages=(
  g++ cmake ninja-build ccache pkg-config
  qt6-base-dev libgl1-mesa-dev
  libopencv-core-dev libopencv-imgproc-dev libopencv-features2d-dev libopencv-calib3d-dev
  libopencv-flann-dev libopencv-dnn-dev
  libexiv2-dev libsqlitecpp-dev libsqlite3-dev libssl-dev libarchive-dev libboost-dev
  libjpeg62-turbo-dev libpng-dev libtiff-dev libheif-dev liblcms2-dev
  nlohmann-json3-dev libcli11-dev
  fonts-dejavu-core
)
test_packages=(
  libgtest-dev libgmock-dev libbenchmark-dev
  libimage-exiftool-perl poppler-utils
  mate-backgrounds plasma-workspace-wallpapers
)

# Installs those of the named packages that are missing; asks for root only then.
install_missing() {
  local missing=() package
  for package in "$@"; do
    # Only an installed package counts; a removed one may have left its settings behind.
    [ "$(dpkg-query -W -f '${db:Status-Status}' "$package" 2>/dev/null)" = installed ] || missing+=("$package")
  done
  [ ${#missing[@]} -eq 0 ] && return 0
  say "installing ${#missing[@]} Debian packages: ${missing[*]}"
  local as_root=()
  if [ "$(id -u)" -ne 0 ]; then
    command -v sudo >/dev/null || {
      say "these packages need root, and there is no sudo; run as root: apt-get install ${missing[*]}"
      exit 1
    }
    as_root=(sudo)
  fi
  "${as_root[@]}" env DEBIAN_FRONTEND=noninteractive apt-get update -qq
  "${as_root[@]}" env DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends \
    "${missing[@]}" >/dev/null
}

# configure PRESET [CMAKE ARGUMENT…]
configure() {
  say "configuring (preset $1)"
  cmake --preset "$@" >/dev/null
}

# build PRESET [TARGET…]
build() {
  local preset=$1
  shift
  say "building (the first time takes some minutes)"
  cmake --build --preset "$preset" ${1:+--target "$@"}
}
