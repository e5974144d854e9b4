# Shared by ./run and ./hotlight: builds a program into artifacts/ when a source is newer than it.
# Sourced, not run; $root is the checkout.
export DOTNET_CLI_TELEMETRY_OPTOUT=1 DOTNET_NOLOGO=1

terminal=""
if [ -t 2 ]; then terminal=yes; fi

say() { printf '%s\n' "$*" >&2; }

# System parts that the bench can do without: name of the file that shows it is there, package, what is lost without it.
install_system_parts() {
  local library
  for library in /usr/lib/*/libopenjp2.so.7 /usr/lib/libopenjp2.so.7 /usr/lib64/libopenjp2.so.7; do
    if [ -e "$library" ]; then return; fi
  done
  if ! command -v apt-get >/dev/null 2>&1; then
    say "JPEG 2000 files cannot be opened: install OpenJPEG (libopenjp2) with your system's package manager. Everything else works."
    return
  fi
  local line="apt-get update && apt-get install -y libopenjp2-7"
  if [ "$(id -u)" -eq 0 ]; then
    say "installing libopenjp2-7 (JPEG 2000)"
    if (apt-get update -qq && DEBIAN_FRONTEND=noninteractive apt-get install -y -qq libopenjp2-7) >/dev/null 2>&1; then return; fi
  elif command -v sudo >/dev/null 2>&1 && sudo -n true 2>/dev/null; then
    say "installing libopenjp2-7 (JPEG 2000)"
    if sudo -n sh -c "apt-get update -qq && apt-get install -y -qq libopenjp2-7" >/dev/null 2>&1; then return; fi
  fi
  say "JPEG 2000 files cannot be opened until this is run as root: $line"
}

# build_program cli|bench
build_program() {
  local name=$1 project target
  case $name in
    cli) project=src/Hotlight.Cli/Hotlight.Cli.csproj; target=artifacts/cli/hotlight ;;
    bench) project=src/Hotlight.Web/Hotlight.Web.csproj; target=artifacts/bench/Hotlight.Web ;;
  esac
  local stamp="$root/artifacts/$name.built"
  if [ -x "$root/$target" ] && [ -f "$stamp" ] &&
     [ -z "$(find "$root/src" "$root/data" "$root/Directory.Build.props" "$root/Directory.Packages.props" "$root/build" \
        \( -name bin -o -name obj \) -prune -o -type f -newer "$stamp" -print -quit 2>/dev/null)" ]; then
    return 0
  fi
  if ! command -v dotnet >/dev/null 2>&1; then
    say "Hotlight needs the .NET 10 SDK: install it and run this again."
    return 1
  fi
  mkdir -p "$root/artifacts"
  local log="$root/artifacts/$name.build.log" moment
  moment=$(mktemp)
  (
    # One build at a time: a second call waits for the first and then finds its work done.
    flock 9
    say "building the $([ "$name" = cli ] && echo 'command line' || echo bench) (once; some minutes)"
    rm -rf "$root/artifacts/$name"
    # Ahead-of-time code makes a short call several times faster; without its compiler package the plain build still works.
    publish_program "$project" "$name" "$log" -p:PublishReadyToRun=true --runtime "$(runtime_name)" ||
      publish_program "$project" "$name" "$log"
  ) 9>"$root/artifacts/build.lock" || {
    rm -f "$moment"
    say "the build failed; the last lines of $log:"
    tail -n 15 "$log" >&2
    return 1
  }
  mv "$moment" "$stamp"
}

publish_program() {
  local project=$1 name=$2 log=$3
  shift 3
  progress_while dotnet publish "$root/$project" -c Release --self-contained false --nologo -v quiet \
    --artifacts-path "$root/artifacts/build" -o "$root/artifacts/$name" "$@" >"$log" 2>&1
}

# Runs a command and, on a terminal, shows that it goes on.
progress_while() {
  if [ -z "$terminal" ]; then "$@"; return; fi
  "$@" &
  local job=$! seconds=0
  while kill -0 "$job" 2>/dev/null; do
    printf '\r  %d s' "$seconds" >/dev/tty 2>/dev/null || true
    sleep 1
    seconds=$((seconds + 1))
  done
  printf '\r         \r' >/dev/tty 2>/dev/null || true
  wait "$job"
}

runtime_name() {
  local machine
  case "$(uname -m)" in aarch64|arm64) machine=arm64 ;; *) machine=x64 ;; esac
  case "$(uname -s)" in Darwin) echo "osx-$machine" ;; *) echo "linux-$machine" ;; esac
}
