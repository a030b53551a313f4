/* Counts the calls that change plain files, and makes one of them fail, tear or be the last.

   Loaded before the C library (LD_PRELOAD) by crash.py, which arms it in the process under test:

       cc -shared -fPIC -O1 -o faults.so faults.c -ldl
*/
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdarg.h>
#include <stdio.h>
#include <sys/stat.h>
#include <sys/types.h>
#include <unistd.h>

enum { ONLY_COUNT, KILL, TEAR, REFUSE_ONCE, REFUSE_FROM_THEN_ON };

static long counted, armed_at;
static int armed_how, armed_error;

void fault_arm(long at, int how, int error) {
    counted = 0;
    armed_at = at;
    armed_how = how;
    armed_error = error;
}

long fault_count(void) { return counted; }

static int is_plain(int file) {
    struct stat told;
    return fstat(file, &told) == 0 && S_ISREG(told.st_mode);
}

/* What becomes of the next call: 0 it is made, 1 half of it, -1 it is refused. */
static int step(void) {
    counted++;
    if (!armed_at || armed_how == ONLY_COUNT || counted < armed_at) return 0;
    if (armed_how == REFUSE_FROM_THEN_ON || (armed_how == REFUSE_ONCE && counted == armed_at)) {
        errno = armed_error;
        return -1;
    }
    if (counted == armed_at && armed_how == KILL) kill(getpid(), SIGKILL);
    return counted == armed_at && armed_how == TEAR;
}

#define REAL(name) ((__typeof__(&name))dlsym(RTLD_NEXT, #name))

ssize_t write(int file, const void *bytes, size_t size) {
    int how = is_plain(file) ? step() : 0;
    if (how < 0) return -1;
    ssize_t done = REAL(write)(file, bytes, how ? size / 2 : size);
    if (how) kill(getpid(), SIGKILL);
    return done;
}

#define PWRITE(name, offset_type)                                                     \
    ssize_t name(int file, const void *bytes, size_t size, offset_type place) {       \
        int how = is_plain(file) ? step() : 0;                                        \
        if (how < 0) return -1;                                                       \
        ssize_t done = REAL(name)(file, bytes, how ? size / 2 : size, place);         \
        if (how) kill(getpid(), SIGKILL);                                             \
        return done;                                                                  \
    }
PWRITE(pwrite, off_t)
PWRITE(pwrite64, off64_t)

#define PLAIN(name, declared, passed, file)                                           \
    int name declared {                                                               \
        int how = is_plain(file) ? step() : 0;                                        \
        if (how < 0) return -1;                                                       \
        if (how) kill(getpid(), SIGKILL);                                             \
        return REAL(name) passed;                                                     \
    }
PLAIN(fsync, (int file), (file), file)
PLAIN(fdatasync, (int file), (file), file)
PLAIN(ftruncate, (int file, off_t size), (file, size), file)
PLAIN(ftruncate64, (int file, off64_t size), (file, size), file)

#define NAMED(name, declared, passed)                                                 \
    int name declared {                                                               \
        int how = step();                                                             \
        if (how < 0) return -1;                                                       \
        if (how) kill(getpid(), SIGKILL);                                             \
        return REAL(name) passed;                                                     \
    }
NAMED(rename, (const char *from, const char *to), (from, to))
NAMED(link, (const char *from, const char *to), (from, to))

/* Taking a name away needs no room: it is a place to be killed at, and never refused. */
int unlink(const char *path) {
    counted++;
    if (counted == armed_at && (armed_how == KILL || armed_how == TEAR)) kill(getpid(), SIGKILL);
    return REAL(unlink)(path);
}

#define OPEN(name)                                                                    \
    int name(const char *path, int flags, ...) {                                      \
        mode_t mode = 0;                                                              \
        if (flags & (O_CREAT | O_TMPFILE)) {                                          \
            va_list rest;                                                             \
            va_start(rest, flags);                                                    \
            mode = va_arg(rest, mode_t);                                              \
            va_end(rest);                                                             \
        }                                                                             \
        if (flags & O_CREAT) {                                                        \
            int how = step();                                                         \
            if (how < 0) return -1;                                                   \
            if (how) kill(getpid(), SIGKILL);                                         \
        }                                                                             \
        return REAL(name)(path, flags, mode);                                         \
    }
OPEN(open)
OPEN(open64)
