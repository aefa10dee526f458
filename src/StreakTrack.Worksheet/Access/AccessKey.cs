using System.Security.Cryptography;
using System.Text;

namespace StreakTrack.Worksheet.Access;

/// <summary>What a browser must know to be served: a key that works once, in the address, is exchanged for a cookie that works until the
/// program ends.</summary>
/// <remarks>The address appears in the list of processes when a browser is started with it, and in the browser's history. So it is worth nothing
/// after its first use.</remarks>
internal sealed class AccessKey
{
    /// <summary>256 bits: nothing to guess.</summary>
    private const int Bytes = 32;

    private readonly Lock _lock = new();
    private readonly byte[] _session = Fresh();
    private byte[] _key = Fresh();
    private bool _used;

    /// <summary>The key for the address, as it stands now.</summary>
    public string Key
    {
        get
        {
            lock (_lock)
                return Encoding.ASCII.GetString(_key);
        }
    }

    /// <summary>The cookie's value.</summary>
    public string Session => Encoding.ASCII.GetString(_session);

    /// <summary>Takes the key for its one use.</summary>
    /// <returns>Whether it was the right one and not used before.</returns>
    public bool TryUse(string key)
    {
        lock (_lock)
        {
            if (_used || !IsEqual(key, _key))
                return false;
            _used = true;
            return true;
        }
    }

    /// <summary>Whether this is the key, but used already: its owner then gets a fresh one where the first was printed.</summary>
    public bool WasUsed(string key)
    {
        lock (_lock)
            return _used && IsEqual(key, _key);
    }

    /// <summary>Makes a fresh key in place of a used one.</summary>
    public void Renew()
    {
        lock (_lock)
            (_key, _used) = (Fresh(), false);
    }

    /// <summary>Whether a cookie's value is that of this run.</summary>
    public bool IsSession(string? value) => value is not null && IsEqual(value, _session);

    private static bool IsEqual(string text, byte[] expected) => CryptographicOperations.FixedTimeEquals(Encoding.UTF8.GetBytes(text), expected);

    private static byte[] Fresh() => Encoding.ASCII.GetBytes(Convert.ToHexStringLower(RandomNumberGenerator.GetBytes(Bytes)));
}
