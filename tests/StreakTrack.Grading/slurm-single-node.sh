#!/usr/bin/env bash
# Runs a Slurm of a single node, this machine, where no service manager does it: as root, after `apt-get install slurm-wlm munge`.
#   slurm-single-node.sh start      starts munged, slurmctld and slurmd with a configuration of its own in /var/tmp/streaktrack-slurm
#   slurm-single-node.sh stop       ends what it started
set -euo pipefail
place=/var/tmp/streaktrack-slurm

start() {
    mkdir -p "$place"/{state,spool,log} /run/munge
    chown munge: /run/munge
    [ -s /etc/munge/munge.key ] || runuser -u munge -- mungekey
    local host processors megabytes
    host=$(hostname -s)
    processors=$(nproc)
    megabytes=$(free -m | awk '/^Mem:/ { print int(0.9 * $2) }')
    cat > "$place/slurm.conf" <<END
ClusterName=single
SlurmctldHost=$host(127.0.0.1)
SlurmUser=root
AuthType=auth/munge
StateSaveLocation=$place/state
SlurmdSpoolDir=$place/spool
SlurmctldPidFile=$place/slurmctld.pid
SlurmdPidFile=$place/slurmd.pid
SlurmctldLogFile=$place/log/slurmctld.log
SlurmdLogFile=$place/log/slurmd.log
ProctrackType=proctrack/linuxproc
TaskPlugin=task/none
SelectType=select/cons_tres
SelectTypeParameters=CR_CPU_Memory
ReturnToService=2
MpiDefault=none
MaxArraySize=10001
NodeName=$host NodeAddr=127.0.0.1 CPUs=$processors RealMemory=$megabytes State=UNKNOWN
PartitionName=all Nodes=ALL Default=YES MaxTime=INFINITE State=UP
END
    runuser -u munge -- munged
    slurmctld -f "$place/slurm.conf"
    slurmd -f "$place/slurm.conf"
    for _ in $(seq 50); do
        SLURM_CONF="$place/slurm.conf" sinfo -h -t idle -o %n 2>/dev/null | grep -q . && break
        sleep 0.2
    done
    SLURM_CONF="$place/slurm.conf" sinfo
    echo "export SLURM_CONF=$place/slurm.conf"
}

stop() {
    local file id
    for file in "$place"/slurmd.pid "$place"/slurmctld.pid /run/munge/munged.pid; do
        [ -s "$file" ] || continue
        id=$(cat "$file")
        kill "$id" 2>/dev/null || continue
        # What still runs writes its state once more, and the folder could not be removed.
        for _ in $(seq 100); do
            kill -0 "$id" 2>/dev/null || break
            sleep 0.1
        done
    done
    rm -rf "$place"
}

case "${1:-}" in
    start|stop) "$1" ;;
    *) sed -n '2,4s/^# \{0,1\}//p' "$0"; exit 2 ;;
esac
